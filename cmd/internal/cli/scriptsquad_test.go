package cli

import (
	"bytes"
	"encoding/binary"
	"encoding/json"
	"os"
	"strings"
	"unicode/utf16"
	"unicode/utf8"

	"github.com/rogpeppe/go-internal/testscript"
	"golang.org/x/text/encoding/charmap"

	"ecart/cmd/internal/cli/terminal"
	"ecart/cmd/internal/journal"
	"ecart/cmd/internal/reading"
)

// spreadsheet rewrites a list with commas, and with no comma in a cell, as a spreadsheet saves
// it: spreadsheet FILE semicolons|utf16|windows
func spreadsheet(ts *testscript.TestScript, _ bool, args []string) {
	if len(args) != 2 {
		ts.Fatalf("usage: spreadsheet FILE semicolons|utf16|windows")
	}
	file := ts.MkAbs(args[0])
	text := strings.ReplaceAll(ts.ReadFile(args[0]), "\n", "\r\n")
	var out []byte
	switch args[1] {
	case "semicolons":
		out = []byte("\ufeff" + strings.ReplaceAll(text, ",", ";"))
	case "utf16":
		for _, u := range utf16.Encode([]rune("\ufeff" + strings.ReplaceAll(text, ",", "\t"))) {
			out = binary.LittleEndian.AppendUint16(out, u)
		}
	case "windows":
		windows, err := charmap.Windows1252.NewEncoder().String(strings.ReplaceAll(text, ",", ";"))
		ts.Check(err)
		out = []byte(windows)
	default:
		ts.Fatalf("no spreadsheet saves a list as %q", args[1])
	}
	ts.Check(os.WriteFile(file, out, 0o666))
}

// sameReading checks that the reading of the N-th athlete of a squad is the one in
// OTHER, digit for digit: same-reading SQUAD N OTHER
func sameReading(ts *testscript.TestScript, _ bool, args []string) {
	if len(args) != 3 {
		ts.Fatalf("usage: same-reading SQUAD N OTHER")
	}
	var squad struct {
		Athletes []struct {
			Readings []struct{ Reading json.RawMessage }
		}
	}
	ts.Check(json.Unmarshal([]byte(ts.ReadFile(args[0])), &squad))
	var got, want bytes.Buffer
	ts.Check(json.Compact(&got, squad.Athletes[number(ts, args[1])].Readings[0].Reading))
	var alone reading.Reading
	ts.Check(json.Unmarshal([]byte(ts.ReadFile(args[2])), &alone))
	alone.Take.Name = "" // a squad names no file
	var e journal.Entry
	ts.Check(e.SetReading(&alone))
	ts.Check(json.Compact(&want, e.Reading))
	if got.String() != want.String() {
		ts.Fatalf("the squad has\n%s\nand alone it is\n%s", &got, &want)
	}
}

// fits checks that every line of FILE fits a terminal of 80 columns: fits FILE
func fits(ts *testscript.TestScript, _ bool, args []string) {
	if len(args) != 1 {
		ts.Fatalf("usage: fits FILE")
	}
	for _, l := range strings.Split(ts.ReadFile(args[0]), "\n") {
		if n := utf8.RuneCountInString(l); n > terminal.HelpWidth {
			ts.Fatalf("%d columns: %q", n, l)
		}
		if l != strings.TrimRight(l, " ") {
			ts.Fatalf("space at the end of %q", l)
		}
	}
}
