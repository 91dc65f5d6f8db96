package session

import (
	"encoding/csv"
	"errors"
	"io"
	"strings"

	"ecart/cmd/internal/output"
)

// Table reads a table saved by a spreadsheet: in UTF-8, UTF-16 or Windows-1252, with
// commas, semicolons or tabs, whichever finds the most of the heads. The first row holds
// the heads. Row i after it is line i + 1 of the file, and is empty if the line is. note
// names the encoding if it was guessed. name is the file's name in errors, which are
// Faults.
func Table(name string, data []byte, heads ...string) (rows [][]string, note string, err error) {
	text, note, err := decode(name, data)
	if err != nil {
		return nil, "", err
	}
	comma, text := delimiter(text, heads)
	r := csv.NewReader(strings.NewReader(text))
	r.Comma, r.FieldsPerRecord = comma, -1
	for {
		cells, err := r.Read()
		if errors.Is(err, io.EOF) {
			return rows, note, nil
		}
		if err != nil {
			return nil, "", badQuote(name, err)
		}
		if rows == nil && blank(cells) {
			continue
		}
		for line, _ := r.FieldPos(0); rows != nil && len(rows) < line-1; {
			rows = append(rows, nil)
		}
		for i := range cells {
			cells[i] = output.Uncell(cells[i])
		}
		rows = append(rows, cells)
	}
}
