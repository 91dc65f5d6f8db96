package reading

import (
	"bytes"
	"encoding/csv"
	"errors"
	"fmt"
	"io"
	"math"
	"slices"
	"strconv"
	"strings"

	"ecart/cmd/internal/fault"
	"ecart/cmd/internal/strict"
	"ecart/geometry"
)

// Seen says how a mark's position in a track is known.
type Seen string

// The values of Seen.
const (
	Found     Seen = "seen"      // found in the picture
	Predicted Seen = "predicted" // not found; expected there from its movement
	Lost      Seen = "lost"      // not known
)

// damaged replaces lost in a table if the file is damaged in that frame.
const damaged Seen = "damaged"

// Tracked is one landmark in one frame of a track.
type Tracked struct {
	X, Y       float64
	Covariance [2][2]float64 // px^2
	Seen       Seen
}

// TrackFrame is one frame of a track; Marks are in the order of its landmarks.
type TrackFrame struct {
	Frame int
	TimeS float64 // true time from the first frame, slow motion undone
	Marks []Tracked

	// Damaged says that the file is damaged in this frame. All its marks are lost.
	Damaged bool

	AngleDeg float64 // NaN if a mark is lost
	SDDeg    float64 // standard uncertainty of the angle; NaN: not known
}

// Track is the marks followed through a clip.
type Track struct {
	Landmarks []string
	Facing    string
	Frames    []TrackFrame
}

// DropUnseen takes out a landmark that no frame shows.
func (t *Track) DropUnseen(landmark string) {
	k := slices.Index(t.Landmarks, landmark)
	if k < 0 || slices.ContainsFunc(t.Frames, func(f TrackFrame) bool { return f.Marks[k].Seen == Found }) {
		return
	}
	t.Landmarks = slices.Delete(slices.Clone(t.Landmarks), k, k+1)
	for i := range t.Frames {
		t.Frames[i].Marks = slices.Delete(t.Frames[i].Marks, k, k+1)
	}
}

// MarksAt returns the marks of the frame with index i; false if a mark is lost.
func (t *Track) MarksAt(i int) (*Marks, bool) {
	f := &t.Frames[i]
	m := &Marks{Schema: MarksSchema, Frame: f.Frame, Facing: t.Facing}
	for k, name := range t.Landmarks {
		p := f.Marks[k]
		if p.Seen == Lost {
			return nil, false
		}
		cov := p.Covariance
		m.Marks = append(m.Marks, Placement{Landmark: name, X: p.X, Y: p.Y, Covariance: &cov})
	}
	return m, true
}

// At returns the index in the track of a frame given by its number in the clip.
func (t *Track) At(frame int) (int, bool) {
	for i := range t.Frames {
		if t.Frames[i].Frame == frame {
			return i, true
		}
	}
	return 0, false
}

// VelocityPx is each landmark's velocity in the picture at index i, px per second, from up to two
// frames on either side.
func (t *Track) VelocityPx(i int) map[string][2]float64 {
	out := map[string][2]float64{}
	for k, name := range t.Landmarks {
		a, b := i, i
		for a > 0 && i-a < 2 && t.Frames[a-1].Marks[k].Seen == Found {
			a--
		}
		for b < len(t.Frames)-1 && b-i < 2 && t.Frames[b+1].Marks[k].Seen == Found {
			b++
		}
		if d := t.Frames[b].TimeS - t.Frames[a].TimeS; d > 0 {
			out[name] = [2]float64{(t.Frames[b].Marks[k].X - t.Frames[a].Marks[k].X) / d, (t.Frames[b].Marks[k].Y - t.Frames[a].Marks[k].Y) / d}
		}
	}
	return out
}

const (
	angleColumn = "angle_deg"
	sdColumn    = "standard_uncertainty_deg"
)

var markColumns = []string{"x_px", "y_px", "var_x_px2", "cov_xy_px2", "var_y_px2", "seen"}

// CSV returns the track as a table in the form of a [TrackWriter].
func (t *Track) CSV() ([]byte, error) {
	var b bytes.Buffer
	w, err := NewTrackWriter(&b, t.Landmarks)
	if err != nil {
		return nil, err
	}
	for i := range t.Frames {
		if err := w.Write(&t.Frames[i]); err != nil {
			return nil, err
		}
	}
	return b.Bytes(), nil
}

// TrackWriter writes a track as a table, one row per frame: frame number, true time, each mark with
// its covariance and how it is known, the angle and its standard uncertainty. Unknown values are
// empty. Each row is flushed immediately.
type TrackWriter struct{ w *csv.Writer }

// NewTrackWriter writes the head of the table.
func NewTrackWriter(to io.Writer, landmarks []string) (*TrackWriter, error) {
	w := &TrackWriter{csv.NewWriter(to)}
	head := []string{"frame", "time_s"}
	for _, l := range landmarks {
		for _, c := range markColumns {
			head = append(head, l+" "+c)
		}
	}
	return w, w.put(append(head, angleColumn, sdColumn))
}

// Write writes the row of a frame, whose marks are in the order of the landmarks.
func (w *TrackWriter) Write(f *TrackFrame) error {
	row := []string{strconv.Itoa(f.Frame), number(f.TimeS)}
	for _, m := range f.Marks {
		if f.Damaged {
			m.Seen = damaged
		}
		if m.Seen == Lost || m.Seen == damaged {
			row = append(row, "", "", "", "", "", string(m.Seen))
			continue
		}
		row = append(row, number(m.X), number(m.Y), number(m.Covariance[0][0]), number(m.Covariance[0][1]), number(m.Covariance[1][1]), string(m.Seen))
	}
	return w.put(append(row, number(f.AngleDeg), number(f.SDDeg)))
}

func (w *TrackWriter) put(row []string) error {
	if err := w.w.Write(row); err != nil {
		return err
	}
	w.w.Flush()
	return w.w.Error()
}

func number(v float64) string {
	if math.IsNaN(v) || math.IsInf(v, 0) {
		return ""
	}
	return strconv.FormatFloat(v, 'g', -1, 64)
}

// mostTrack is the size limit of a track, bytes: about half an hour of twelve landmarks.
const mostTrack = 64 << 20

// ParseTrack reads what CSV writes; name is used in errors, which are faults.
func ParseTrack(name string, data []byte) (*Track, error) {
	bad := func(format string, a ...any) error {
		return fault.New(fmt.Sprintf("the track %q %s", name, fmt.Sprintf(format, a...)), "give the CSV that "+fault.Operation("follow stickers")+" wrote, as it was written")
	}
	r := csv.NewReader(bytes.NewReader(bytes.TrimPrefix(data, []byte("\xef\xbb\xbf"))))
	head, err := r.Read()
	if err != nil {
		return nil, bad("has no head")
	}
	if len(data) > mostTrack {
		return nil, bad("has %d bytes, and %d are read at most", len(data), mostTrack)
	}
	n := (len(head) - 4) / len(markColumns)
	if n < 1 || len(head) != 4+n*len(markColumns) || head[0] != "frame" || head[1] != "time_s" {
		return nil, bad("does not begin with frame, time_s and six columns a landmark")
	}
	t := &Track{}
	for k := range n {
		l, _, _ := strings.Cut(head[2+k*len(markColumns)], " ")
		for c, want := range markColumns {
			if got := head[2+k*len(markColumns)+c]; got != l+" "+want {
				return nil, bad("has the column %q where %q belongs", got, l+" "+want)
			}
		}
		if known := geometry.Landmarks(); !slices.Contains(known, l) {
			return nil, bad("follows the unknown landmark %q", strict.Clip(l))
		}
		if slices.Contains(t.Landmarks, l) {
			return nil, bad("follows the landmark %q twice", l)
		}
		t.Landmarks = append(t.Landmarks, l)
	}
	for line := 2; ; line++ {
		row, err := r.Read()
		if errors.Is(err, io.EOF) {
			break
		}
		if err != nil {
			return nil, bad("has in line %d a stray quotation mark, or another number of cells than its head", line)
		}
		f, err := parseRow(row, n)
		if err != nil {
			return nil, bad("has in line %d %v", line, err)
		}
		if len(t.Frames) > 0 && f.Frame <= t.Frames[len(t.Frames)-1].Frame {
			return nil, bad("has in line %d frame %d out of order", line, f.Frame)
		}
		if len(t.Frames) > 0 && f.TimeS < t.Frames[len(t.Frames)-1].TimeS {
			return nil, bad("has in line %d a time before that of the line before", line)
		}
		t.Frames = append(t.Frames, f)
	}
	if len(t.Frames) == 0 {
		return nil, bad("has no frames")
	}
	return t, nil
}

func parseRow(row []string, n int) (f TrackFrame, err error) {
	if f.Frame, err = strconv.Atoi(row[0]); err != nil || f.Frame < 0 || f.Frame > mostFrame {
		return f, fmt.Errorf("no frame number but %q", row[0])
	}
	next := 1
	cell := func() float64 {
		s := row[next]
		next++
		if s == "" {
			return math.NaN()
		}
		v, e := strconv.ParseFloat(s, 64)
		if e != nil || math.IsInf(v, 0) || math.IsNaN(v) {
			err = fmt.Errorf("no number but %q", strict.Clip(s))
		}
		return v
	}
	f.TimeS = cell()
	for range n {
		var m Tracked
		m.X, m.Y = cell(), cell()
		a, b, c := cell(), cell(), cell()
		m.Covariance = [2][2]float64{{a, b}, {b, c}}
		m.Seen = Seen(row[next])
		next++
		switch m.Seen {
		case Lost, damaged:
			f.Damaged = f.Damaged || m.Seen == damaged
			m = Tracked{Seen: Lost}
		case Found, Predicted:
			if err == nil && !(a > 0 && c > 0 && a*c > b*b && a <= mostPx && c <= mostPx && math.Abs(m.X) <= mostPx && math.Abs(m.Y) <= mostPx) {
				err = errors.New("a mark without a place or with a covariance that is none")
			}
		default:
			return f, fmt.Errorf("%q where seen, predicted, lost or damaged belongs", m.Seen)
		}
		f.Marks = append(f.Marks, m)
	}
	if f.Damaged {
		for k := range f.Marks {
			f.Marks[k] = Tracked{Seen: Lost}
		}
	}
	f.AngleDeg, f.SDDeg = cell(), cell()
	if err == nil && !(f.TimeS >= 0) {
		err = errors.New("no time from 0 up")
	}
	if err == nil && f.SDDeg < 0 {
		err = errors.New("a standard uncertainty below 0")
	}
	return f, err
}
