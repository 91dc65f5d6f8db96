package page

import (
	"bytes"
	"fmt"
	"image"
	"net/http"
	"strconv"

	"ecart/cmd/internal/desk"
	"ecart/cmd/internal/figure"
	"ecart/cmd/internal/large"
	"ecart/cmd/internal/page/folder"
	"ecart/cmd/internal/reading"
	sheets "ecart/cmd/internal/sheet"
)

// sideBySide is what the page shows of two takes.
type sideBySide struct {
	Sides [2]side  `json:"sides"`
	Says  []string `json:"says"`  // how the readings differ
	Equal bool     `json:"equal"` // the parts show both athletes equally large
}

// side is one of the two, at a frame.
type side struct {
	Frame int    `json:"frame"`
	Value string `json:"value"` // "" where the frame has no reading
	Plus  string `json:"plus"`
	Says  string `json:"says"` // the verdict, or why there is no reading
	Ruler string `json:"ruler"`
	Fan   *fan   `json:"fan"`
	Part  [4]int `json:"part"` // x, y, width, height of the frame's part that shows the athlete, px; all 0: the whole

	got *reading.Reading
}

// two returns the takes in an address, each with its frame: from the query, "at" twice, or the
// moment of the work on it.
func (s *Server) two(r *http.Request) (ids [2]string, at [2]int, err error) {
	ids = [2]string{r.PathValue("a"), r.PathValue("b")}
	given := r.URL.Query()["at"]
	if len(given) != 0 && len(given) != len(ids) {
		return ids, at, refuse(http.StatusBadRequest, fmt.Sprintf("%d frames were named, and two takes are shown", len(given)), "load the page again")
	}
	for i, id := range ids {
		if _, err := s.store.About(id); err != nil {
			return ids, at, err
		}
		if len(given) > 0 {
			if at[i], err = strconv.Atoi(given[i]); err != nil || at[i] < 0 {
				return ids, at, refuse(http.StatusBadRequest, fmt.Sprintf("there is no frame %q", folder.Shown(given[i])), "frames count from 0")
			}
			continue
		}
		work, err := s.works.load(id)
		if err != nil {
			return ids, at, err
		}
		at[i] = work.Frame
	}
	return ids, at, nil
}

// beside sends two takes with their readings, and how these differ. A frame without a reading is
// no error: its side says why.
func (s *Server) beside(w http.ResponseWriter, r *http.Request) {
	ids, at, err := s.two(r)
	if err != nil {
		s.fail(w, r, err)
		return
	}
	out := sideBySide{Says: []string{}}
	for i := range ids {
		one := &out.Sides[i]
		one.Frame = at[i]
		got, _, err := s.readAt(r.Context(), ids[i], at[i])
		if err != nil {
			_, words := say(err)
			one.Says = words.Error + ": " + words.Hint
			continue
		}
		one.fill(got)
	}
	if a, b := out.Sides[0].got, out.Sides[1].got; a != nil && b != nil {
		out.compare(a, b)
	}
	answer(w, http.StatusOK, out)
}

func (o *side) fill(got *reading.Reading) {
	f := fanOf(got)
	o.got, o.Fan, o.Ruler = got, &f, rulerOf(got, [2]float64{})
	o.Value, o.Plus = valueAndPlus(got)
	if says := got.Says(); len(says) > 0 {
		o.Says = minus(says[0])
	}
	o.Part = corners(figure.Around(got, image.Pt(got.Take.WidthPx, got.Take.HeightPx), 0.9))
}

func corners(r image.Rectangle) [4]int { return [4]int{r.Min.X, r.Min.Y, r.Dx(), r.Dy()} }

// compare fills in how the two readings differ, rulers of one scale, and parts of one size.
func (o *sideBySide) compare(a, b *reading.Reading) {
	both, err := desk.CompareUnfiled(a, b, sheets.Options{})
	if err != nil {
		_, words := say(onPage(err))
		o.Says = append(o.Says, "not compared: "+words.Error)
		return
	}
	o.Says, o.Equal = all(both.Says, minus), both.Equal
	for i, r := range [2]*reading.Reading{a, b} {
		o.Sides[i].Ruler = rulerOf(r, both.RangeDeg)
		if both.Equal {
			o.Sides[i].Part = corners(both.Parts[i])
		}
	}
}

// besideSheet writes the page of two takes side by side.
func (s *Server) besideSheet(r *http.Request, ask *sheetAsk, b *bytes.Buffer) (name string, err error) {
	ids, at, err := s.two(r)
	if err != nil {
		return "", err
	}
	var ins [2]*sheets.Input
	var rs [2]*reading.Reading
	var asked [2]*desk.Asked
	for i := range ids {
		if rs[i], asked[i], err = s.readAt(r.Context(), ids[i], at[i]); err != nil {
			return "", err
		}
	}
	done, err := s.turn(r.Context(), true)
	if err != nil {
		return "", err
	}
	defer done()
	for i, got := range rs {
		f, err := s.decoded(r.Context(), ids[i], at[i])
		if err != nil {
			return "", err
		}
		covers, err := ask.cover.Still(asked[i].Request.Marks.Marks, got.Measure)
		if err != nil {
			return "", err
		}
		if ins[i], err = s.config.Desk.Fill(desk.SheetAsk{Cover: ask.cover}, got, large.Of(f), covers, asked[i].Request.Marks.Level); err != nil {
			return "", err
		}
	}
	both, err := desk.CompareUnfiled(rs[0], rs[1], ask.options)
	if err != nil {
		return "", err
	}
	return desk.SheetName("side-by-side-"+rs[0].Measure, "", "", string(ask.options.For)), sheets.WritePair(b, *ins[0], *ins[1], both.Difference, ask.options)
}
