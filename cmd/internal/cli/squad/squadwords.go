package squad

import (
	"strings"

	"ecart/cmd/internal/cli/terminal"
	"ecart/cmd/internal/session"
)

const squadShort = "a session of many athletes from one list: read all, one table, one picture"

var squadLong = `Reads every take of a list, two at a time, and shows the squad at a glance: who
is short of what is asked, whose picture cannot decide, and, of athletes read
passive, active and in-skill on one day, whether range, control or use is
missing most.

The list is a table with a row of heads, as a spreadsheet saves it: CSV parted
by commas, semicolons or tabs. One row is one take of one athlete:

  athlete;take;seeds;marks;skill;condition;stature
  Wren;leap.mp4;leap.marks.json;;split-leap;in-skill;152cm
  Wren;floor.jpg;;floor.marks.json;split-leap;passive;152cm

Needed are athlete, take and one of marks (a marks file, read on its frame, or
the CSV of 'ecart follow', with the frame or peak under at), seeds and colours
(a clip, followed and read at its peak). A row with none of them gets marks
proposed from the picture, after 'make pose': it is named with the angle that
is proposed, and is neither judged nor kept. A skill or a measure stands in the
row or is given for all. What else a row may say, each as the flag of its name:

` + indented(session.Columns[6:]) + `

What a row does not say is taken from the flags. Files are looked for from the
list's own folder. Where there is a column pseudonym, it is shown and kept, and
the name is not.

A row that fails is named with its reason and does not stop the others. What was
read or proposed is remembered, without names, in ecart/squad in your cache
folder, so that a second run reads only what is new or changed: a take, its
marks, what it is asked, or the version of ecart. Ctrl-C stops, and keeps what
is done.`

const squadExample = `  ecart squad monday.csv --figure monday.png
  ecart squad monday.csv --skill split-leap --camera by-eye --keep \
      --day 2026-03-21 --state warm --csv monday-read.csv`

func indented(names []string) string {
	return "  " + strings.Join(terminal.Broken(strings.Join(names, ", "), terminal.HelpWidth-2), "\n  ")
}
