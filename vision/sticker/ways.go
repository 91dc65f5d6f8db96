package sticker

import (
	"context"
	"fmt"
	"slices"
)

// forward follows from the first seed to the last frame. As long as seeds are to come, pictures wait
// in a line until those after them are there, so that the frame of a seed can be rehearsed with what
// follows it, and nothing is decoded twice: what leads up to the seeds is kept for going backwards.
func (j *job) forward(ctx context.Context) error {
	j.arrange()
	var line []numbered
	defer func() { dropAll(line) }()
	k := keeper{clip: j.clip}
	var w *walker
	next := func() error {
		ks, err := j.begins(line)
		if err != nil {
			j.unfit = true
			return err
		}
		if w == nil {
			w = &walker{j: j, f: j.follower(1), last: -1}
		}
		for _, k := range ks {
			t := newTracked(j.seeds[k].Name, &j.begin[k], 1)
			t.aligned(j.shift)
			w.f.stickers[k] = t
		}
		head := line[0]
		line = line[1:]
		if head.i == j.last {
			if j.first == j.last {
				j.before = append(j.before, k.again(head))
			}
			j.turnBack(ctx)
		}
		defer head.drop()
		marks, err := w.to(&head)
		if err != nil {
			return err
		}
		j.late = append(j.late, looked{head.i, marks})
		j.tell(marks)
		return nil
	}
	err := j.clip.Stream(ctx, j.leadUp(), j.clip.Frames()-1, func(i int, p Picture) error {
		if i < j.first {
			j.before = append(j.before, k.keep(i, p))
			return nil
		}
		line = append(line, k.keep(i, p))
		for len(line) >= rehearsed || len(j.pending) == 0 && len(line) > 0 {
			if err := next(); err != nil {
				return err
			}
		}
		return nil
	})
	for err == nil && len(line) > 0 {
		if err = ctx.Err(); err == nil {
			err = next()
		}
	}
	if err == nil && len(j.pending) > 0 {
		j.unfit = true
		err = j.undecodable()
	}
	return err
}

// arrange sorts the seeds by their frames.
func (j *job) arrange() {
	j.begin, j.ends = make([]beginning, len(j.seeds)), make([]end, len(j.seeds))
	order := make([]int, len(j.seeds))
	for k := range order {
		order[k] = k
	}
	slices.SortStableFunc(order, func(a, b int) int { return j.seeds[a].Frame - j.seeds[b].Frame })
	for n, k := range order {
		if n == 0 || j.seeds[k].Frame != j.seeds[order[n-1]].Frame {
			j.pending = append(j.pending, nil)
		}
		last := &j.pending[len(j.pending)-1]
		*last = append(*last, k)
	}
	j.first, j.last = j.seeds[order[0]].Frame, j.seeds[order[len(order)-1]].Frame
	j.early, j.reached = make([][]Mark, j.last+1), j.first
}

// leadUp is the frame from which on pictures before the seeds are kept: none where the seeds are
// in several frames, since going backwards then begins at the last of these.
func (j *job) leadUp() int {
	if j.first != j.last {
		return j.first
	}
	return max(j.clip.Start(j.first), j.first+1-max(room(j.clip)-rehearsed, 1))
}

// begins finds the seeds of the first picture in the line, and returns which they are.
func (j *job) begins(line []numbered) ([]int, error) {
	if len(j.pending) == 0 {
		return nil, nil
	}
	ks := j.pending[0]
	switch frame := j.seeds[ks[0]].Frame; {
	case frame < line[0].i:
		return nil, j.undecodable()
	case frame > line[0].i:
		return nil, nil
	}
	j.pending = j.pending[1:]
	return ks, j.findAt(line, ks)
}

func (j *job) undecodable() error {
	s := j.seeds[j.pending[0][0]]
	return &Error{Problem: BadSeed, Seed: s.Name, Frame: s.Frame, what: fmt.Sprintf("frame %d, in which %q was pointed at, cannot be decoded", s.Frame, s.Name),
		hint: "point at it in another frame"}
}

// turnBack begins to follow backwards, from what is known of the seeds alone, while the rest of the
// clip is followed forwards.
func (j *job) turnBack(ctx context.Context) {
	ctx, j.stopBack = context.WithCancel(ctx)
	j.back = make(chan error, 1)
	have := j.before
	j.before = nil
	go func() { j.back <- j.backward(ctx, have) }()
}

// backward follows from the last seed to the first frame. have are the pictures that lead up to it.
func (j *job) backward(ctx context.Context, have []numbered) error {
	w := walker{j: j, f: j.follower(-1), last: -1}
	k := keeper{clip: j.clip, of: j.colours()}
	for i := range have {
		have[i] = k.part(have[i])
	}
	return reverse(ctx, &k, j.last, have, func(n *numbered) error {
		marks, err := w.to(n)
		if err != nil {
			return err
		}
		j.early[n.i] = marks
		if n.i < j.first {
			j.reached = n.i
			j.tell(marks)
		}
		return nil
	})
}

// tell tells the progress of both ways.
func (j *job) tell(marks []Mark) {
	j.telling.Lock()
	defer j.telling.Unlock()
	j.done++
	if j.opt.Progress == nil {
		return
	}
	found := 0
	for _, m := range marks {
		if m.Seen == Seen {
			found++
		}
	}
	j.opt.Progress(min(j.done, j.clip.Frames()), j.clip.Frames(), found)
}

// handOut calls each with all frames in order.
func (j *job) handOut(ctx context.Context) error {
	for i := j.reached; i < j.first; i++ {
		if j.early[i] == nil { // could not be decoded
			continue
		}
		if err := j.emit(ctx, i, j.early[i]); err != nil {
			return err
		}
	}
	for _, l := range j.late {
		for k := range l.marks {
			if l.i < j.seeds[k].Frame && j.early[l.i] != nil {
				l.marks[k] = j.early[l.i][k]
			}
		}
		if err := j.emit(ctx, l.i, l.marks); err != nil {
			return err
		}
	}
	return nil
}

func (j *job) emit(ctx context.Context, i int, marks []Mark) error {
	if err := ctx.Err(); err != nil {
		return err
	}
	for k := range marks {
		if m := &marks[k]; m.Seen == Seen {
			j.ends[k].see(i, m)
		} else if m.Seen == Predicted {
			j.ends[k].leaving = j.outside(m.At, m.Radius)
		}
	}
	return j.each(Frame{Index: i, Time: j.clip.Time(i), TrueTime: j.clip.TrueTime(i), Marks: marks})
}
