// Package reading computes a reading from the marks of one frame: an angle, its uncertainty, the
// budget of its sources, and the verdict against what a skill asks. It does no I/O and reads no
// clock.
package reading

// Schema names the version of the JSON form of a [Reading].
const Schema = "ecart/reading/1"

// A Reading is one measured angle with everything that is known about it.
// Angles are in degrees, as everywhere in files; pixel coordinates have the
// centre of the top-left pixel at (0, 0), x right, y down.
type Reading struct {
	Schema  string `json:"schema"`
	Take    Take   `json:"take"`
	Measure string `json:"measure"`

	// AngleDeg is the mean of the Monte Carlo draws; StandardUncertaintyDeg is
	// their standard deviation and IntervalDeg holds the share Coverage of them.
	AngleDeg               float64    `json:"angle_deg"`
	StandardUncertaintyDeg float64    `json:"standard_uncertainty_deg"`
	ExpandedUncertaintyDeg float64    `json:"expanded_uncertainty_deg"`
	Coverage               float64    `json:"coverage"`
	IntervalDeg            [2]float64 `json:"interval_deg"`
	Draws                  int        `json:"draws"`

	// PictureAngleDeg is the angle in the picture, without any correction.
	PictureAngleDeg float64     `json:"picture_angle_deg"`
	FirstOrder      *FirstOrder `json:"first_order,omitempty"`

	Budget      []BudgetRow `json:"budget"` // largest first
	NotIncluded []string    `json:"not_included"`
	Moment      *Moment     `json:"moment,omitempty"` // what the frame may have missed of the movement; nil: nothing, it is the peak
	Peak        *Peak       `json:"peak,omitempty"`   // if a clip was followed

	Skill   *SkillRef `json:"skill,omitempty"`
	Verdict *Verdict  `json:"verdict,omitempty"`

	// Proposed says that a mark of the reading is a proposal that nobody confirmed. Such a
	// reading is no measurement: it has no skill and no verdict, and is not kept.
	Proposed bool `json:"proposed,omitempty"`

	// For a reading of whole legs with marked knees: the knees, and the angle of the thighs. Straight is
	// the skill's rule for bent knees, if it has one.
	Knees    []Knee        `json:"knees,omitempty"`
	Thigh    *Thigh        `json:"thigh,omitempty"`
	Straight *StraightLegs `json:"straight_legs,omitempty"`

	// Beside are other angles that the same marks show: of each leg by itself, and of the trunk.
	Beside []Beside `json:"beside,omitempty"`

	// Hips is the turn of the hips in a split with both hips marked.
	Hips *HipTurn `json:"hips,omitempty"`

	// Proportions of the body, if a wrist and the other landmarks that they need are marked, and what positions
	// need with them; LegsApart and KneesApart are the distances of the ankles and of the knees in shoulder widths.
	Proportions []Proportion `json:"proportions,omitempty"`
	Positions   []Position   `json:"positions,omitempty"`
	LegsApart   *Proportion  `json:"legs_apart,omitempty"`
	KneesApart  *Proportion  `json:"knees_apart,omitempty"`

	Advice   []string `json:"advice"`
	Cautions []string `json:"cautions"`
	Notes    []string `json:"notes"` // what was assumed on the way

	Marks   []Mark  `json:"marks"` // those the measure used, and those that decided its side
	Lines   [2]Line `json:"lines"`
	Turn    int     `json:"turn"` // +1: seen in the picture the angle opens clockwise from the first line to the second (y is down); -1: counter-clockwise
	Density Density `json:"density"`
}

// UnnoticedDamage is in NotIncluded of readings of HEVC clips whose pictures cannot be judged.
const UnnoticedDamage = "damage that the decoder of an HEVC clip does not notice"

// Take says which frame of which file was read.
type Take struct {
	Name     string  `json:"name"`
	SHA256   string  `json:"sha256"`
	Frame    int     `json:"frame"`
	TimeS    float64 `json:"time_s"`
	WidthPx  int     `json:"width_px"`
	HeightPx int     `json:"height_px"`
	Unjudged bool    `json:"hevc,omitempty"` // a clip coded in HEVC whose pictures cannot be judged: its decoder does not notice all damage

	// Damaged lists the runs of frames, [first, last], that the reading would have used and in which the
	// file is damaged; nil for none.
	Damaged [][2]int `json:"damaged_frames,omitempty"`
}

// FirstOrder is the law of propagation of uncertainty (JCGM 100:2008) beside
// the Monte Carlo result. Valid is the verdict of JCGM 101:2008, clause 8.
type FirstOrder struct {
	AngleDeg               float64    `json:"angle_deg"`
	StandardUncertaintyDeg float64    `json:"standard_uncertainty_deg"`
	DegreesOfFreedom       *float64   `json:"degrees_of_freedom"` // null: infinite
	IntervalDeg            [2]float64 `json:"interval_deg"`
	Valid                  bool       `json:"valid"`
}

// BudgetRow is the uncertainty from one source alone, the others at their means. Share is its part of
// the variance. The row "interaction" is the total variance minus the sum over the sources; it may
// be negative, and StandardUncertaintyDeg is then negative too.
type BudgetRow struct {
	Source                 string  `json:"source"`
	StandardUncertaintyDeg float64 `json:"standard_uncertainty_deg"`
	Share                  float64 `json:"share"`
	How                    string  `json:"how"` // how the size of the source is known
}

// SkillRef is the skill a reading was compared with.
type SkillRef struct {
	Rulebook     string  `json:"rulebook"`
	Name         string  `json:"name"`
	Title        string  `json:"title"`
	ThresholdDeg float64 `json:"threshold_deg"`
	AtMost       bool    `json:"at_most"`
	OneWay       bool    `json:"one_way,omitempty"` // with at_most: an angle below 0 is a different thing and meets the rule
	Edition      string  `json:"edition"`
	Source       string  `json:"source"`
	Provenance   string  `json:"provenance"`
}

// Decision is the result of a verdict under the guarded rule.
type Decision string

// The three decisions: the angle meets what is asked or falls short with at
// least the probability asked for, or the picture does not decide.
const (
	Meets     Decision = "meets"
	Short     Decision = "short"
	Undecided Decision = "undecided"
)

// Verdict holds the probabilities of JCGM 106:2012 and the decision.
type Verdict struct {
	Decision         Decision          `json:"decision"`
	Confidence       float64           `json:"confidence"` // the probability required for a decision
	MeetsProbability float64           `json:"meets_probability"`
	NoneProbability  float64           `json:"none_probability,omitempty"` // if exactly 0 is asked, with deviations of both signs: that the picture cannot tell the angle from 0; the bands have the rest
	ShortfallDeg     float64           `json:"shortfall_deg"`              // of the mean, positive is short
	Bands            []BandProbability `json:"bands"`
	// NeededStandardUncertaintyDeg is the largest standard uncertainty that would allow a
	// decision at this angle; 0 if there is a decision.
	NeededStandardUncertaintyDeg float64 `json:"needed_standard_uncertainty_deg"`
	Convention                   string  `json:"convention"`
}

// BandProbability is one band of the rule book; FromDeg and ToDeg are degrees
// short of what is asked, ToDeg null if the band has no end.
type BandProbability struct {
	Label       string   `json:"label"`
	Deduction   string   `json:"deduction"`
	FromDeg     float64  `json:"from_deg"`
	ToDeg       *float64 `json:"to_deg"`
	Probability float64  `json:"probability"`
}

// Mark is a point placed for a landmark, with its covariance in px^2.
type Mark struct {
	Landmark   string        `json:"landmark"`
	X          float64       `json:"x"`
	Y          float64       `json:"y"`
	Covariance [2][2]float64 `json:"covariance_px2"` // of placement and landmark together
	Placements int           `json:"placements"`
}

// Line is one of the two lines of the measure, in pixels. A fixed line is
// plumb or level and starts where the other line starts; its To is one unit away.
type Line struct {
	From  string  `json:"from"`
	To    string  `json:"to"`
	FromX float64 `json:"from_x"`
	FromY float64 `json:"from_y"`
	ToX   float64 `json:"to_x"`
	ToY   float64 `json:"to_y"`
	Fixed bool    `json:"fixed"`
}

// Density is the distribution of the angle as a histogram: Values[i] is the
// probability per degree over [FromDeg + i*StepDeg, FromDeg + (i+1)*StepDeg).
type Density struct {
	FromDeg float64   `json:"from_deg"`
	StepDeg float64   `json:"step_deg"`
	Values  []float64 `json:"values"`
}

// Skill is what a rule book asks of an angle. The shortfall is
// AskedDeg - angle; with AtMost it is |angle| - AskedDeg, or angle - AskedDeg for a
// measure whose negative angles are a different thing (a knee past straight is not
// bent). The skill is met if the shortfall is at most FreeDeg; each band covers a
// shortfall in (From, To] degrees.
type Skill struct {
	Rulebook string
	Name     string
	Title    string
	Measure  string
	AskedDeg float64
	AtMost   bool
	FreeDeg  float64
	Bands    []Band

	// Ratio names a ratio of lengths that the skill judges instead of an angle, with RatioBands instead of
	// Bands (see [RatioMeasure]). Such a reading has no verdict on its angle: the outcome is [Reading.Judged].
	Ratio      string
	RatioBands []RatioBand // without probabilities

	StraightLegs *StraightLegs // the rule for bent knees that goes with this one; nil if there is none

	Edition, Source, Provenance string
	Cautions                    []string
	Note                        string // what the rule book says beside the figures
}

// Band is one deduction band. ToDeg is +Inf if it has no upper end.
type Band struct {
	Label     string
	Deduction string // as the rule book words it: "0.10", "0.05-0.10", "no value"
	FromDeg   float64
	ToDeg     float64
}

// asksAngle reports whether there is a skill and it asks for an angle.
func (s *Skill) asksAngle() bool { return s != nil && s.Ratio == "" }
