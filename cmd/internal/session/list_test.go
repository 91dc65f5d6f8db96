package session

import (
	"encoding/binary"
	"strings"
	"testing"
	"unicode/utf16"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"golang.org/x/text/encoding/charmap"

	"ecart/cmd/internal/fault"
)

const plainList = "athlete,take,marks,skill\nWren,a.mp4,a.json,split-leap\nZoë,b.mp4,b.json,split-leap\n"

func utf16Of(t *testing.T, s string, order binary.AppendByteOrder) []byte {
	var out []byte
	for _, u := range utf16.Encode([]rune(s)) {
		out = order.AppendUint16(out, u)
	}
	return out
}

// One list, saved in each form that spreadsheets write.
func TestWaysToSave(t *testing.T) {
	windows, err := charmap.Windows1252.NewEncoder().String(plainList)
	require.NoError(t, err)
	semicolons := strings.ReplaceAll(plainList, ",", ";")
	tabs := strings.ReplaceAll(plainList, ",", "\t")
	for how, data := range map[string][]byte{
		"plain":                          []byte(plainList),
		"UTF-8 with its mark":            []byte("\ufeff" + plainList),
		"semicolons":                     []byte(semicolons),
		"semicolons, mark, CR LF":        []byte("\ufeff" + strings.ReplaceAll(semicolons, "\n", "\r\n")),
		"tabs":                           []byte(tabs),
		"CR alone":                       []byte(strings.ReplaceAll(plainList, "\n", "\r")),
		"no end to the last line":        []byte(strings.TrimSpace(plainList)),
		"quoted":                         []byte(`"` + strings.ReplaceAll(strings.ReplaceAll(strings.TrimSpace(plainList), ",", `","`), "\n", "\"\n\"") + `"`),
		"UTF-16, low byte first":         append([]byte("\xff\xfe"), utf16Of(t, tabs, binary.LittleEndian)...),
		"UTF-16, high byte first":        append([]byte("\xfe\xff"), utf16Of(t, tabs, binary.BigEndian)...),
		"UTF-16 without its mark":        utf16Of(t, tabs, binary.LittleEndian),
		"UTF-16 without its mark, other": utf16Of(t, semicolons, binary.BigEndian),
		"heads in capitals":              []byte(strings.Replace(plainList, "athlete,take,marks,skill", " ATHLETE , Take,MARKS,Skill", 1)),
		"cells with space about them":    []byte(strings.ReplaceAll(plainList, ",", " ,\u00a0")),
		"cells more than there are":      []byte(strings.ReplaceAll(plainList, "\n", ",,\n")),
		"Windows-1252":                   []byte(windows),
	} {
		t.Run(how, func(t *testing.T) {
			l, err := Parse("list.csv", data)
			require.NoError(t, err)
			assert.Equal(t, []string{"athlete", "take", "marks", "skill"}, l.Columns)
			require.Len(t, l.Rows, 2)
			wren, zoe := &l.Rows[0], &l.Rows[1]
			assert.NoError(t, wren.Err)
			assert.NoError(t, zoe.Err)
			assert.Equal(t, "Wren", wren.Athlete)
			assert.Equal(t, "Zoë", zoe.Athlete)
			assert.Equal(t, "b.mp4", zoe.Get("take"))
			assert.Equal(t, "split-leap", zoe.Get("skill"))
			assert.Equal(t, [2]int{2, 3}, [2]int{wren.Line, zoe.Line})
			if how == "Windows-1252" {
				require.Len(t, l.Notes, 1)
				assert.Contains(t, l.Notes[0], `"Zoë"`)
			} else {
				assert.Empty(t, l.Notes)
			}
		})
	}
}

// Lines are counted as in an editor: blank rows, quoted line ends and a line that states the delimiter
// count.
func TestLines(t *testing.T) {
	l, err := Parse("list.csv", []byte("sep=;\nathlete;take;seeds;note\n\n;;;\nWren;a.mp4;s.json;\"one\ntwo\"\n;;;\nMerlin;b.mp4;s.json;\n"))
	require.NoError(t, err)
	require.Len(t, l.Rows, 2)
	assert.Equal(t, 5, l.Rows[0].Line)
	assert.Equal(t, "one\ntwo", l.Rows[0].Get("note"))
	assert.Equal(t, 8, l.Rows[1].Line)
	assert.True(t, l.Has("skill", "note"))
	assert.False(t, l.Has("skill", "measure"))
}

// A fault of the whole list is named, with a hint.
func TestRefused(t *testing.T) {
	for name, c := range map[string]struct{ data, says string }{
		"empty":              {"", "is empty"},
		"heads alone":        {"athlete,take,marks\n", "has no rows"},
		"blank lines alone":  {"\n\n", "has no rows"},
		"no athlete":         {"who,take,marks\nWren,a,b\n", `has no column "athlete"; its columns are "who", "take", "marks"`},
		"no take":            {"athlete,clip,marks\nWren,a,b\n", `has no column "take"`},
		"no marks":           {"athlete,take,skill\nWren,a,b\n", `has no column "marks", "seeds" or "colours"`},
		"other delimiter":    {"athlete|take|marks\nWren|a|b\n", `has one column only, "athlete|take|marks"`},
		"twice":              {"athlete,take,marks,Take\nWren,a,b,c\n", `"take" twice`},
		"twice, two ways":    {"athlete,take,marks,at,frame\nWren,a,b,c,d\n", `"at" twice`},
		"stray quote":        {"athlete,take,marks\nWren,a,b\nMer\"lin,a,b\n", "quotation mark in line 3"},
		"open quote":         {"athlete,take,marks\n\"Wren,a,b\n", "quotation mark in line 2"},
		"a spreadsheet":      {"PK\x03\x04rest", "spreadsheet's own file"},
		"an old spreadsheet": {"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1", "spreadsheet's own file"},
		"a picture":          {"athlete\x00\x01\x02,take", "no text"},
		"a clip":             {"\xff\x90\x90\x00abc", "no text"},
		"an odd byte":        {"athlete,take,marks\nWren\x81,a,b\n", "byte 0x81 in line 2"},
		"UTF-16 cut off":     {"\xff\xfea\x00t", "UTF-16"},
	} {
		t.Run(name, func(t *testing.T) {
			l, err := Parse("list.csv", []byte(c.data))
			require.ErrorContains(t, err, c.says)
			assert.Nil(t, l)
			var hint interface{ Hint() string }
			require.ErrorAs(t, err, &hint)
			assert.NotEmpty(t, hint.Hint())
			assert.Contains(t, err.Error(), `"list.csv"`)
		})
	}
}

// A row may have no marks: whether it can be read depends on the machine.
func TestARowWithoutMarks(t *testing.T) {
	l, err := Parse("list.csv", []byte("athlete,take,marks,seeds\nWren,a.mp4,,\nLio,b.mp4,,s.json\n"))
	require.NoError(t, err)
	require.Len(t, l.Rows, 2)
	assert.NoError(t, l.Rows[0].Err)
	assert.True(t, l.Rows[0].Unmarked())
	assert.False(t, l.Rows[1].Unmarked())
}

// A faulty row does not affect the rows about it.
func TestRowsThatFail(t *testing.T) {
	const heads = "athlete,take,marks,seeds,at\n"
	const good = "Wren,a.mp4,a.json,,\n"
	for row, says := range map[string]string{
		",a.mp4,a.json,,":                 "names no athlete",
		"Merlin,,a.json,,":                "names no take",
		"Merlin,a.mp4,a.json,s.json,":     "both marks and seeds",
		"Merlin,a.mp4,,s.json,137":        `"137" of a clip that is followed`,
		"Merlin,a.mp4,a.json,,,and,more":  "has 7 cells and the heads are 5",
		"\"Mer\nlin\",a.mp4,a.json,,":     `under "athlete"`,
		"Merlin,\"a\tb.mp4\",a.json,,":    `under "take"`,
		"Merlin,a.mp4,\"a\x01.json\",,\n": "", // refused as a whole: no text
	} {
		l, err := Parse("list.csv", []byte(heads+good+row+"\n"+good))
		if says == "" {
			require.Error(t, err, row)
			continue
		}
		require.NoError(t, err, row)
		require.Len(t, l.Rows, 3, row)
		assert.NoError(t, l.Rows[0].Err, row)
		assert.ErrorContains(t, l.Rows[1].Err, says)
		assert.NoError(t, l.Rows[2].Err, row)
	}
}

func TestUnknownColumns(t *testing.T) {
	l, err := Parse("list.csv", []byte("athlete,take,marks,conditon,coach,\nWren,a,b,passive,Iris,\n"))
	require.NoError(t, err)
	assert.Equal(t, []string{`the column "conditon" is not known and is not read; did you mean "condition"?`, `the column "coach" is not known and is not read`}, l.Notes)
	assert.Empty(t, l.Rows[0].Get("condition"))
}

// One athlete in several spellings, two pseudonyms for one name, and one pseudonym for two names. No
// error contains a name.
func TestNames(t *testing.T) {
	l, err := Parse("list.csv", []byte("athlete,take,marks\nPlover,a,b\nPLOVER ,c,d\n plover,e,f\n"))
	require.NoError(t, err)
	for i := range l.Rows {
		assert.Equal(t, "Plover", l.Rows[i].Athlete)
	}

	l, err = Parse("list.csv", []byte("Athlete,Pseudonym,take,marks\nAnna,Wren,a,b\nAnna,Merlin,c,d\nanna,wren,e,f\nBerta,Wren,g,h\nClara,,i,j\n,Siskin,k,l\n"))
	require.NoError(t, err)
	var who []string
	for i := range l.Rows {
		who = append(who, l.Rows[i].Athlete)
	}
	assert.Equal(t, []string{"Wren", "Merlin", "Wren", "Wren", "", "Siskin"}, who)
	for i, says := range []string{"", "", "", `the pseudonym "Wren" stands for another name in line 2`, "has no pseudonym", ""} {
		if says == "" {
			assert.NoError(t, l.Rows[i].Err)
			continue
		}
		assert.ErrorContains(t, l.Rows[i].Err, says)
		for _, name := range []string{"Anna", "Berta", "Clara"} {
			assert.NotContains(t, l.Rows[i].Err.Error(), name)
		}
	}
}

// No list makes Parse panic. Each row has its line in the file, and an athlete or an error.
func FuzzParse(f *testing.F) {
	f.Add([]byte(plainList))
	f.Add([]byte("\ufeffathlete;take;seeds\r\nWren;a;b\r\n"))
	f.Add([]byte("sep=\t\npseudonym\ttake\tmarks\n"))
	f.Add([]byte("\xff\xfea\x00"))
	f.Add([]byte("athlete,take,marks\n\"\n\n\",a,b\nZo\xeb,a,b"))
	f.Fuzz(func(t *testing.T, data []byte) {
		l, err := Parse("list.csv", data)
		if err != nil {
			return
		}
		require.NotEmpty(t, l.Rows)
		last := 0
		for i := range l.Rows {
			r := &l.Rows[i]
			require.Greater(t, r.Line, last)
			last = r.Line
			if r.Err == nil {
				require.NotEmpty(t, r.Athlete)
				require.NotEmpty(t, r.Get("take"))
			}
		}
	})
}

// Every column is found by its own head and by its synonyms.
func TestColumnsAreHeads(t *testing.T) {
	for _, c := range Columns {
		assert.Equal(t, c, normalHead(strings.ToUpper(c)))
	}
	for other, c := range headSynonyms {
		assert.Contains(t, Columns, normalHead(other))
		assert.Contains(t, Columns, c)
	}
}

func TestRowDay(t *testing.T) {
	for cell, want := range map[string]string{"2026-03-21": "2026-03-21", "21.3.2026": "2026-03-21", "01.12.2025": "2025-12-01"} {
		got, err := (&Row{cells: map[string]string{"day": cell}}).Day()
		require.NoError(t, err, cell)
		assert.Equal(t, want, got)
	}
	for cell, says := range map[string]string{"3/4/2026": "which is the month", "30.2.2026": "no date", "March": "no date", "2026-3-21": "no date"} {
		_, err := (&Row{cells: map[string]string{"day": cell}}).Day()
		assert.ErrorContains(t, err, says, cell)
	}
}

// The apostrophe that keeps a spreadsheet from reading a cell as a formula is removed.
func TestCellsOfOurOwnTables(t *testing.T) {
	l, err := Parse("list.csv", []byte("athlete,take,marks\n'=Lio,'-a.mp4,'+a.json\n'Wren,b.mp4,b.json\n"))
	require.NoError(t, err)
	assert.Equal(t, "=Lio", l.Rows[0].Athlete)
	assert.Equal(t, "-a.mp4", l.Rows[0].Get("take"))
	assert.Equal(t, "+a.json", l.Rows[0].Get("marks"))
	assert.Equal(t, "'Wren", l.Rows[1].Athlete)
}

// Names reads a list of names alone, and a list of takes.
func TestNamesOfAList(t *testing.T) {
	names, err := Names("a.csv", []byte("athlete\nWren\n wren \n\nLio\n"))
	require.NoError(t, err)
	assert.Equal(t, []string{"Wren", "Lio"}, names)
	names, err = Names("a.csv", []byte("athlete;pseudonym;take;marks\nAnna;Wren;a.mp4;a.json\nBo;;b.mp4;\n"))
	require.NoError(t, err)
	assert.Equal(t, []string{"Wren"}, names, "a name that was to be hidden is not used")
	for text, want := range map[string]string{"take,marks\na,b\n": `has no column "athlete"`, "athlete\n": "has no rows", "athlete,take\n,a.mp4\n": "names no athlete"} {
		_, err := Names("a.csv", []byte(text))
		assert.ErrorContains(t, err, want)
	}
	_, err = Parse("a.csv", []byte("athlete,marks\nWren,a.json\n"))
	assert.ErrorContains(t, err, `has no column "take"`)
}

// A table is the same in each form that spreadsheets write, and a row's index gives its line.
func TestTable(t *testing.T) {
	plain := "question,band\n1,b\n\n3,c 70 d 30\n,,\n5,\n"
	wide := []byte("\xff\xfe")
	for _, u := range utf16.Encode([]rune(strings.ReplaceAll(plain, ",", "\t"))) {
		wide = binary.LittleEndian.AppendUint16(wide, u)
	}
	for how, data := range map[string][]byte{
		"commas":     []byte(plain),
		"semicolons": []byte("\ufeff" + strings.ReplaceAll(strings.ReplaceAll(plain, ",", ";"), "\n", "\r\n")),
		"said":       []byte("sep=;\n" + strings.ReplaceAll(plain, ",", ";")),
		"tabs":       wide,
	} {
		rows, note, err := Table("answers.csv", data, "question", "band")
		require.NoError(t, err, how)
		assert.Empty(t, note, how)
		if how == "said" {
			assert.Equal(t, [][]string{{"question", "band"}, nil, {"1", "b"}}, rows[:3], "the line that says it counts for lines")
			continue
		}
		require.Len(t, rows, 6, how)
		assert.Equal(t, []string{"question", "band"}, rows[0], how)
		assert.Nil(t, rows[2], how)
		assert.Equal(t, []string{"3", "c 70 d 30"}, rows[3], how)
		assert.Equal(t, []string{"5", ""}, rows[5], how)
	}
	for _, bad := range []string{"", "PK\x03\x04", "question,band\n1,\"b\n2\"x\n", "question\x00,band"} {
		_, _, err := Table("answers.csv", []byte(bad), "question", "band")
		var f *fault.Error
		require.ErrorAs(t, err, &f, "%q", bad)
		assert.NotEmpty(t, f.Hint())
	}
}
