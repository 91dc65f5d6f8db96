package page

import (
	"cmp"
	"context"
	"slices"
	"strings"

	"ecart/cmd/internal/desk"
	"ecart/cmd/internal/page/folder"
	"ecart/cmd/internal/record"
)

// keptOf returns the kept readings of takes, by the takes' ids.
func (s *Server) keptOf(ctx context.Context, list []folder.About) (map[string][]record.KeptRow, error) {
	of, err := s.record.KeptOfTakes(ctx, folder.SumsOf(list))
	out := map[string][]record.KeptRow{}
	for _, a := range list {
		for _, r := range of[a.Sum()] {
			if a.Has(r.Take.Frame) {
				out[a.ID] = append(out[a.ID], r)
			}
		}
	}
	return out, err
}

// split replaces a clip by a take for each moment, with its proposed marks. The notes on the clip go to each of them, but
// its name to the first pass alone. without is noted with the first part.
func (s *Server) split(ctx context.Context, id string, passes []desk.Pass, without []string, key string) error {
	a, err := s.store.About(id)
	if err != nil {
		return err
	}
	work, err := s.proposals.work(id)
	if err != nil || keyOf(work) != key { // somebody has placed marks meanwhile, or reads something else
		return err
	}
	t, done, err := s.lend(ctx, id)
	if err != nil {
		return err
	}
	frames := t.Info().Frames
	done()
	passes = slices.Clone(passes)
	slices.SortFunc(passes, func(a, b desk.Pass) int { return cmp.Compare(a.Marks.Frame, b.Marks.Frame) })
	var moments []int
	for _, p := range passes {
		moments = append(moments, p.Marks.Frame)
	}
	parts := folder.PartsOf(a, frames, moments)
	parts[0].Without = without
	if err := s.store.Split(id, parts); err != nil {
		return err
	}
	for i, p := range parts {
		mine := *work
		mine.Version, mine.Frames = 0, nil
		mine.propose(passes[i].Marks)
		if _, _, err := s.works.save(p.ID, &mine); err != nil {
			return err
		}
		s.proposals.setDone(p.ID, &mine)
	}
	if err := s.notebook.change(func(n *notes) error {
		for i, p := range parts {
			o := n.ofTake(id)
			o.Begun = true
			if i > 0 {
				o.Line, o.Note = 0, ""
			}
			if passes[i].Number != passes[0].Number {
				o.Athlete = ""
			}
			n.Takes[p.ID] = &o
		}
		if n.List != nil { // its rows go to the parts
			for _, row := range n.List.rows() {
				if strings.EqualFold(lastPart(row.Ask.Take), a.Name) {
					n.List.Done = slices.DeleteFunc(n.List.Done, func(line int) bool { return line == row.Line })
				}
			}
		}
		return nil
	}); err != nil {
		return err
	}
	s.hub.tell(id, event{Kind: "parted", Of: len(parts)})
	if err := s.takeOff(id); err != nil {
		return err
	}
	return s.match(ctx)
}
