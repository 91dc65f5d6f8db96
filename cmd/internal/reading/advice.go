package reading

import (
	"fmt"
	"math"

	"ecart/geometry/uncertainty"
)

// remedy is something a coach can do, and what it does to the blocks.
type remedy struct {
	do    string
	apply func(q *Request, blocks []uncertainty.Block) bool // false: nothing left to gain
}

// scaled replaces the spread of a source by another.
func scaled(source string, spread func(b *uncertainty.Block) uncertainty.Block) func(*Request, []uncertainty.Block) bool {
	return func(_ *Request, blocks []uncertainty.Block) bool {
		found := false
		for i := range blocks {
			if blocks[i].Source == source {
				blocks[i] = spread(&blocks[i])
				found = true
			}
		}
		return found
	}
}

// shrunk is the block with its standard deviation times k.
func shrunk(k float64) func(b *uncertainty.Block) uncertainty.Block {
	return func(b *uncertainty.Block) uncertainty.Block {
		cov := b.Covariance()
		cov.ScaleSym(k*k, cov)
		out, err := uncertainty.NewNormal(b.Source, b.Mean, cov)
		if err != nil {
			return *b
		}
		return out
	}
}

var remedies = []remedy{
	{
		do: "stand square to the line of the movement, measured along the floor, and say --camera squared",
		apply: func(q *Request, blocks []uncertainty.Block) bool {
			sd := q.Priors.Oblique.YawDeg["squared"] * math.Pi / 180
			return scaled(SourceOblique, func(b *uncertainty.Block) uncertainty.Block {
				return uncertainty.NewScalar(SourceOblique, 0, math.Min(sd, math.Sqrt(b.Covariance().At(0, 0))))
			})(q, blocks)
		},
	},
	{
		do:    "feel for each landmark, put a sticker on it before the take, and mark the stickers",
		apply: scaled(SourceLandmark, shrunk(0.5)), // ours: a felt and stickered place scatters half as much
	},
	{
		do: "mark each point three times",
		apply: func(q *Request, blocks []uncertainty.Block) bool {
			return scaled(SourcePlacement, shrunk(1/math.Sqrt(3)))(q, blocks)
		},
	},
	{
		do: "mark two points on something level or plumb",
		apply: func(q *Request, blocks []uncertainty.Block) bool {
			return q.Marks.Level == nil && scaled(SourceLevel, shrunk(0.1))(q, blocks) // 1.5 px over 1000 px is 0.1 deg
		},
	},
	{
		do: "put the camera farther off, zoom in, and give --distance",
		apply: func(q *Request, blocks []uncertainty.Block) bool {
			return scaled(SourcePerspective, func(b *uncertainty.Block) uncertainty.Block {
				far := q.Priors.Distance.ToM * 1000
				return uncertainty.NewScalar(SourcePerspective, far, q.Priors.Distance.GivenSD*far)
			})(q, blocks)
		},
	},
}

// adviceDraws is enough to know a width to one part in a hundred.
const adviceDraws = 20_100

// worthwhile is the part by which a remedy must narrow the interval to be named.
const worthwhile = 0.05

// advise names the remedy that narrows the interval most, and by how much.
func (q *Request) advise(m *model, r *Reading) []string {
	best, width := "", r.ExpandedUncertaintyDeg*(1-worthwhile)
	for _, c := range remedies {
		blocks := append([]uncertainty.Block(nil), m.blocks...)
		if !c.apply(q, blocks) {
			continue
		}
		d, err := uncertainty.MonteCarlo(blocks, m.degrees, uncertainty.Options{Seed: q.Seed, Coverage: q.Coverage, MaxDraws: adviceDraws})
		if err != nil {
			continue
		}
		if w := (d.High - d.Low) / 2; w < width {
			best, width = c.do, w
		}
	}
	if best == "" {
		return []string{"no single thing would make this reading much better"}
	}
	_, now := uncertainty.Format(r.AngleDeg, r.ExpandedUncertaintyDeg)
	_, then := uncertainty.Format(r.AngleDeg, width)
	return []string{fmt.Sprintf("%s: ± %s° would become ± %s°", best, now, then)}
}

// cautions that go with a reading: the general one first, then the skill's.
func cautions(measure string, s *Skill) []string {
	out := []string{"this measures, it does not diagnose or prescribe; pain, clicking or giving way means stop, and see a clinician"}
	switch measure {
	case "hip-split", "leg-separation":
		out = append(out, "over-split work belongs with a qualified person, and only after a full passive split on the floor")
	}
	if s != nil {
		out = append(out, s.Cautions...)
	}
	return out
}
