package desk

import (
	"errors"
	"fmt"
	"os"
	"path/filepath"

	"ecart/cmd/internal/fault"
	"ecart/cmd/internal/journal"
	"ecart/cmd/internal/movement"
)

// JournalName is the file name of the journal in the data folder.
const JournalName = "ecart.journal"

// DataFolder returns the folder of takes, marks and the journal; given is "" for the usual
// one.
func DataFolder(given string) (string, error) {
	if given != "" {
		return filepath.Abs(given)
	}
	if x := os.Getenv("XDG_DATA_HOME"); filepath.IsAbs(x) {
		return filepath.Join(x, "ecart"), nil
	}
	home, err := os.UserHomeDir()
	if err != nil {
		return "", fault.New(fmt.Sprintf("there is no home folder to keep takes in: %v", err), "give a folder with "+fault.Option("data"))
	}
	return filepath.Join(home, ".local", "share", "ecart"), nil
}

// JournalPath returns the path of the journal: the file given, else the usual one.
func (d *Desk) JournalPath() (string, error) {
	if d.opt.Journal != "" {
		return filepath.Abs(d.opt.Journal)
	}
	dir, err := DataFolder("")
	if err != nil {
		return "", fault.New(err.Error(), "name the journal with "+fault.Option("journal")+" FILE")
	}
	return filepath.Join(dir, JournalName), nil
}

// OpenJournal opens the desk's journal.
func (d *Desk) OpenJournal(opt journal.Options) (*journal.Journal, error) {
	path, err := d.JournalPath()
	if err != nil {
		return nil, err
	}
	opt.Now = d.opt.Now
	return journal.Open(path, opt)
}

// InJournal opens the journal for f, and closes it.
func (d *Desk) InJournal(opt journal.Options, f func(*journal.Journal) error) error {
	j, err := d.OpenJournal(opt)
	if err != nil {
		return err
	}
	err = f(j)
	if e := j.Close(); err == nil {
		err = e
	}
	return err
}

// CheckJournal returns an error if the journal cannot be written. A missing journal is made with
// the first reading kept.
func (d *Desk) CheckJournal() error {
	j, err := d.OpenJournal(journal.Options{})
	if errors.Is(err, journal.ErrAbsent) {
		return nil
	}
	if err != nil {
		return err
	}
	return j.Close()
}

// CheckFilter returns an error if no reading can have a value of the filter.
func CheckFilter(q journal.Filter) error {
	for _, c := range []struct {
		option, value string
		choices       []string
	}{
		{"side", q.Side, []string{"left", "right", "front", "back"}},
		{"state", q.State, journal.States},
		{"condition", q.Condition, journal.Conditions},
		{"variant", q.Variant, movement.VariantNames("")},
		{"measure", q.Measure, MeasureNames()},
	} {
		if err := OneOf(c.option, c.value, c.choices...); err != nil {
			return err
		}
	}
	for _, day := range []struct{ option, value string }{{"from", q.From}, {"to", q.To}} {
		if _, err := ParseDay(day.option, day.value); err != nil {
			return err
		}
	}
	if q.From != "" && q.To != "" && q.From > q.To {
		return fault.New(fmt.Sprintf("%s %s is later than %s %s", fault.Option("from"), q.From, fault.Option("to"), q.To), "give the earlier day with "+fault.Option("from"))
	}
	return nil
}
