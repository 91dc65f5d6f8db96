package desk

import (
	"ecart/cmd/internal/session"
)

// ListRow is a row of a squad's list, as it is written.
type ListRow struct {
	Line           int
	Ask            Ask    // its files as they are written
	Filing         Filing // its athlete is the pseudonym where the list has them
	Seeds, Colours string // what is followed; "" if nothing is, both
	Err            error  // what is wrong with the row, nil if nothing is
}

// ListRows reads a squad's list without any of the files that it names; notes say what in it is
// not read. Errors call options by the names of columns.
func ListRows(name string, data []byte) (rows []ListRow, notes []string, err error) {
	l, err := session.Parse(name, data)
	if err != nil {
		return nil, nil, err
	}
	for i := range l.Rows {
		from := &l.Rows[i]
		row := ListRow{Line: from.Line, Err: from.Err}
		if row.Err == nil {
			row.Seeds, row.Colours, row.Err = FillRow(from, &row.Ask, &row.Filing)
		}
		row.Filing.Athlete = from.Athlete
		rows = append(rows, row)
	}
	return rows, l.Notes, nil
}
