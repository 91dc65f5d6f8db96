package desk

import (
	"bytes"
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"math/rand/v2"
	"path/filepath"
	"strconv"
	"strings"

	"ecart/cmd/internal/fault"
	"ecart/cmd/internal/figure"
	"ecart/cmd/internal/large"
	"ecart/cmd/internal/output"
	"ecart/cmd/internal/quiz"
	"ecart/cmd/internal/reading"
	"ecart/cmd/internal/session"
	"ecart/cmd/internal/sheet"

	"golang.org/x/text/language"
	"golang.org/x/text/message"
)

// QuizAsk is the input of a quiz.
type QuizAsk struct {
	SheetAsk            // how marks in lists are read, and where takes are searched
	Filing   Filing     // of rows of lists
	Files    []string   // readings, and lists as 'ecart squad' reads them
	ShowFace bool       // heads are not covered
	Progress ListEvents // of lists
}

// Quiz is a quiz: its key, and the readings that its questions are made of, in their order.
type Quiz struct {
	Key   *quiz.Key
	desk  *Desk
	ask   QuizAsk
	posed []Posed
}

// Posed is a reading from which a question is made.
type Posed struct {
	Reading *reading.Reading
	Take    string // its file; "" if it is to be found by its content
	From    string // where it comes from, for errors: a file, a row of a list, a take
	beside  string // the folder of From
}

// Quiz makes questions of readings, in an order that the seed decides.
func (d *Desk) Quiz(ctx context.Context, a QuizAsk) (*Quiz, error) {
	if len(a.Files) == 0 {
		return nil, fault.New("a quiz takes readings, and none was given", "give READINGs that "+fault.Operation("save the reading as JSON")+" printed, or a LIST of "+fault.Operation("read a squad"))
	}
	all, err := d.gatherPosed(ctx, a)
	if err != nil {
		return nil, err
	}
	return d.QuizOf(ctx, a, all)
}

// QuizOf is Quiz with given readings.
func (d *Desk) QuizOf(ctx context.Context, a QuizAsk, all []Posed) (*Quiz, error) {
	if err := askedOnce(all); err != nil {
		return nil, err
	}
	if err := d.findAll(ctx, a.Folders, all); err != nil {
		return nil, err
	}
	order := rand.New(rand.NewPCG(a.Seed, 0x71756973))
	order.Shuffle(len(all), func(i, j int) { all[i], all[j] = all[j], all[i] })
	var questions []quiz.Question
	for i, p := range all {
		q, err := quiz.NewQuestion(i+1, p.Reading)
		if err != nil {
			return nil, aboutFile(p.From, err)
		}
		questions = append(questions, q)
	}
	key, err := quiz.NewKey(questions)
	return &Quiz{key, d, a, all}, err
}

// gatherPosed gathers the readings of all files.
func (d *Desk) gatherPosed(ctx context.Context, a QuizAsk) (all []Posed, err error) {
	for _, path := range a.Files {
		var some []Posed
		if strings.EqualFold(filepath.Ext(path), ".csv") {
			some, err = d.poseList(ctx, a, path)
		} else {
			some, err = poseReading(path)
		}
		if err != nil {
			return nil, err
		}
		all = append(all, some...)
	}
	return all, nil
}

// askedOnce refuses two readings of one frame and skill.
func askedOnce(all []Posed) error {
	type frame struct {
		take, skill, measure string
		at                   int
	}
	before := map[frame]string{}
	for _, p := range all {
		f := frame{p.Reading.Take.SHA256, "", p.Reading.Measure, p.Reading.Take.Frame}
		if p.Reading.Skill != nil {
			f.skill = p.Reading.Skill.Rulebook + "/" + p.Reading.Skill.Name
		}
		if other, ok := before[f]; ok && f.take != "" {
			return fault.New(fmt.Sprintf("%s is of the same frame and skill as %s", p.From, other), "leave one of them out: a quiz asks a thing once")
		}
		before[f] = p.From
	}
	return nil
}

func poseReading(path string) ([]Posed, error) {
	data, err := ReadSmall("reading", path)
	if err != nil {
		return nil, err
	}
	do := "give what " + fault.Operation("save the reading as JSON") + " printed, or a LIST of takes and marks files as " + fault.Operation("read a squad") + " reads"
	var head struct {
		Schema string `json:"schema"`
	}
	if err := json.Unmarshal(data, &head); err != nil {
		return nil, fault.New(fmt.Sprintf("%q is no reading: %v", path, err), do)
	}
	if head.Schema != reading.Schema {
		return nil, fault.New(fmt.Sprintf("%q has the schema %q, and a quiz takes %s", path, head.Schema, reading.Schema), do)
	}
	r, err := parseReading(path, data)
	if err != nil {
		return nil, err
	}
	return []Posed{{Reading: r, From: strconv.Quote(path), beside: filepath.Dir(path)}}, nil
}

// poseList reads a list as 'ecart squad' does. A row that is not read is an error: a quiz is
// whole or not at all.
func (d *Desk) poseList(ctx context.Context, a QuizAsk, path string) (out []Posed, err error) {
	list, err := d.OpenList(ListAsk{Path: path, Ask: a.Ask, Filing: a.Filing})
	if err != nil {
		return nil, err
	}
	run := d.ReadList(ctx, list, a.Progress)
	if ctx.Err() != nil {
		return nil, ctx.Err()
	}
	for _, row := range run.Outcomes() {
		at := fmt.Sprintf("line %d of %q", row.Row.Line, path)
		if row.Err != nil { // with the file's name: this goes to whoever wrote the list
			reason, do := wordsOf(row.Err, fault.NoDoor)
			return nil, fault.New(at+" is not read: "+reason, do)
		}
		out = append(out, Posed{row.Reading, row.Files.Take, at, filepath.Dir(path)})
	}
	return out, nil
}

// findAll finds the takes of readings by their content, going through each folder once. A
// take that is not found is reported when its frame is needed.
func (d *Desk) findAll(ctx context.Context, given []string, all []Posed) error {
	d.opt.Doing("looking for the takes")
	defer d.opt.Doing("")
	by := map[string]map[string]string{} // by folder and SHA-256: the take
	for i, p := range all {
		if p.Take != "" || p.Reading.Take.SHA256 == "" {
			continue
		}
		folders, deep := given, true
		if len(folders) == 0 {
			folders, deep = []string{p.beside}, false
		}
		for _, dir := range folders {
			if by[dir] == nil {
				sums, err := takesIn(ctx, dir, deep)
				if err != nil {
					return err
				}
				by[dir] = sums
			}
			if path := by[dir][p.Reading.Take.SHA256]; path != "" && all[i].Take == "" {
				all[i].Take = path
			}
		}
	}
	return nil
}

// takesIn returns the takes of a folder by their SHA-256; deep includes its subfolders. A
// folder that cannot be read has none.
func takesIn(ctx context.Context, dir string, deep bool) (map[string]string, error) {
	sums := map[string]string{}
	err := eachTake(ctx, dir, deep, func(p, sum string) error {
		if sum != "" && sums[sum] == "" {
			sums[sum] = p
		}
		return nil
	})
	var closed *fault.Error
	if errors.As(err, &closed) {
		err = nil
	}
	return sums, err
}

// Frame returns the frame of question i, from 0, with the head covered unless ShowFace is set.
func (q *Quiz) Frame(ctx context.Context, i int) (sheet.Input, error) {
	q.desk.opt.Doing(fmt.Sprintf("frame %d of %d", i+1, len(q.posed)))
	defer q.desk.opt.Doing("")
	in, err := q.frame(ctx, &q.posed[i])
	if err != nil {
		return sheet.Input{}, aboutFile(q.posed[i].From, err)
	}
	return *in, nil
}

func (q *Quiz) frame(ctx context.Context, p *Posed) (*sheet.Input, error) {
	cover := Cover{Faceless: !q.ask.ShowFace}
	covers, err := cover.Still(figure.MarksOf(p.Reading), p.Reading.Measure)
	if err != nil {
		return nil, fault.New(err.Error(), "mark the shoulder and the hip, or leave all heads uncovered with "+fault.Option("show-face"))
	}
	silent := q.desk.Silent()
	frame, err := silent.frameOf(ctx, p.Reading, p.Take, q.ask.Folders, []string{p.beside})
	if err != nil {
		return nil, err
	}
	return silent.Fill(q.ask.SheetAsk, p.Reading, large.Of(frame), covers, nil)
}

// aboutFile says which file an error is about.
func aboutFile(from string, err error) error {
	if errors.Is(err, context.Canceled) {
		return err
	}
	fact, hint := fault.Marked(err)
	if hint == "" {
		hint = hintless
	}
	if _, part, ok := strings.Cut(fact, " has no bands: "); ok {
		fact = "there are no bands: " + part
	}
	return fault.New(from+": "+fact, hint)
}

// KeyFile returns the key of a quiz as a file.
func (q *Quiz) KeyFile() ([]byte, error) {
	var b bytes.Buffer
	e := json.NewEncoder(&b)
	e.SetIndent("", "  ")
	e.SetEscapeHTML(false)
	err := e.Encode(q.Key)
	return output.EscapeJSON(b.Bytes()), err
}

// QuizOfKey returns the quiz of a key file. takeOf returns the file of a take by its SHA-256; name is
// used in errors.
func (d *Desk) QuizOfKey(name string, keyFile []byte, a QuizAsk, takeOf func(sha256 string) string) (*Quiz, error) {
	key, err := quiz.ParseKey(name, keyFile)
	if err != nil {
		return nil, err
	}
	q := &Quiz{Key: key, desk: d, ask: a}
	for i := range key.Questions {
		r := key.Questions[i].Reading
		q.posed = append(q.posed, Posed{Reading: r, Take: takeOf(r.Take.SHA256), From: fmt.Sprintf("question %d", i+1)})
	}
	return q, nil
}

// Asks returns what question i asks, from 0.
func (q *Quiz) Asks(i int, opt sheet.Options) (sheet.Asks, error) {
	question := &q.Key.Questions[i]
	in, err := q.desk.sheetInput(question.Reading, nil, nil)
	if err != nil {
		return sheet.Asks{}, err
	}
	return sheet.QuestionAsks(question, in.Rule, opt)
}

// Score marks answers, each a band's letter or several with the percentage of each ("b 70 c 30"),
// or "" for a question that is left out; name is used in errors.
func (q *Quiz) Score(name string, answers []string) (*quiz.Score, error) {
	rows := [][]string{{"question", "band"}}
	for i, a := range answers {
		rows = append(rows, []string{fmt.Sprint(i + 1), a})
	}
	list, err := q.Key.ParseAnswers(name, rows)
	if err != nil {
		return nil, err
	}
	return q.Key.Mark(list)
}

// Score marks a list of answers, which a spreadsheet may have saved, by a key.
func (d *Desk) Score(keyPath, answersPath string) (*quiz.Key, *quiz.Score, error) {
	data, err := ReadSmall("key", keyPath)
	if err != nil {
		return nil, nil, err
	}
	key, err := quiz.ParseKey(keyPath, data)
	if err != nil {
		return nil, nil, err
	}
	if data, err = ReadSmall("answer list", answersPath); err != nil {
		return nil, nil, err
	}
	rows, note, err := session.Table(answersPath, data, "question", "band", "quiz")
	if err != nil {
		return nil, nil, err
	}
	if note != "" {
		d.opt.Note(note)
	}
	answers, err := key.ParseAnswers(answersPath, rows)
	if err != nil {
		return nil, nil, err
	}
	score, err := key.Mark(answers)
	return key, score, err
}

// WriteAnswers writes an empty answer list as spreadsheets in the language open one:
// separated by semicolons if its decimal separator is a comma.
func WriteAnswers(w io.Writer, k *quiz.Key, tag language.Tag) error {
	comma := ','
	if strings.Contains(message.NewPrinter(tag).Sprintf("%.1f", 0.5), ",") {
		comma = ';'
	}
	c, err := output.NewCSV(w, comma, false)
	if err != nil {
		return err
	}
	err = c.Write("question", "band", "quiz")
	for i := range k.Questions {
		err = errors.Join(err, c.Write(strconv.Itoa(i+1), "", k.Quiz))
	}
	return errors.Join(err, c.Flush())
}
