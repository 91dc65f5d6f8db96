package page

import (
	"context"
	"errors"
	"net/http"
	"slices"
	"sync"

	"ecart/cmd/internal/desk"
	"ecart/cmd/internal/reading"
	"ecart/geometry"
)

// proposals proposes marks, and the moment of a clip, for takes on which nobody has placed a mark. It works in the
// background on one take at a time, the open one first. Proposals go into the work on the take.
type proposals struct {
	s    *Server
	jobs *jobs
	wake chan struct{}

	mu    sync.Mutex
	at    map[string]*proposal // by take
	queue []string             // takes that wait, the next one first
	going string               // the take being worked on, "" for none
}

// proposal is the state of the proposals for a take.
type proposal struct {
	key     string // keyOf the work that they are for
	athlete desk.Athlete
	state   string
	part    float64     // of the job that is done, 0 to 1
	said    said        // why nothing is proposed
	frame   int         // of proposeWho: the frame in which two people are seen
	passes  []desk.Pass // of a clip with several moments, which is split into them
	without []string    // passes of the clip without a moment, and why
}

// The states of a proposal.
const (
	proposeNone    = ""        // not asked for
	proposeWaiting = "waiting" // for its turn
	proposeGoing   = "going"
	proposeDone    = "done" // its marks are in the work, unless somebody was faster
	proposeWho     = "who"  // two people are seen: somebody has to say who is meant
	proposeFailed  = "failed"
	proposeOff     = "off" // somebody stopped it
)

func newProposals(s *Server) *proposals {
	p := &proposals{s: s, at: map[string]*proposal{}, wake: make(chan struct{}, 1), jobs: newJobs(s, "proposing", "proposed",
		said{"marks are being looked for already", "wait for them, or stop it"},
		said{"stopped before marks were found", "place the marks by hand"})}
	s.background(p.run)
	return p
}

// work returns the work on a take; if there is none yet, what is set for all takes, which it does not store.
func (p *proposals) work(id string) (*Work, error) {
	k, err := p.s.works.load(id)
	if err != nil || k.Version > 0 {
		return k, err
	}
	n, err := p.s.notebook.read()
	if err != nil {
		return nil, err
	}
	mine := *k
	n.All.apply(&mine)
	return &mine, nil
}

// want queues a take, unless marks were already proposed for what is read of it. first puts it before all others.
func (p *proposals) want(id string, first bool) {
	k, err := p.work(id)
	if err != nil || keyOf(k) == "" || desk.CanPropose() != nil {
		return // opening the take reports the error
	}
	if t, err := p.s.follows.track(id); err != nil || t != nil || p.s.follows.jobs.on(id) {
		return
	}
	p.mu.Lock()
	defer p.mu.Unlock()
	if o := p.at[id]; o != nil && o.key == keyOf(k) {
		if first && o.state == proposeWaiting {
			p.enqueue(id, true)
		}
		return
	}
	p.at[id] = &proposal{key: keyOf(k), state: proposeWaiting}
	p.enqueue(id, first)
}

// meant queues a take once more, to have marks proposed for the person at a place of a frame.
func (p *proposals) meant(id string, a desk.Athlete) error {
	k, err := p.work(id)
	if err != nil {
		return err
	}
	if keyOf(k) == "" {
		return refuse(http.StatusUnprocessableEntity, "marks were placed already, or nothing was chosen to be read", "choose what is read; proposals never replace marks")
	}
	if err := desk.CanPropose(); err != nil {
		return err
	}
	p.mu.Lock()
	defer p.mu.Unlock()
	p.at[id] = &proposal{key: keyOf(k), state: proposeWaiting, athlete: a}
	p.enqueue(id, true)
	return nil
}

// enqueue puts a take into the queue. If it goes first, the take being worked on is interrupted.
func (p *proposals) enqueue(id string, first bool) {
	p.queue = slices.DeleteFunc(p.queue, func(q string) bool { return q == id })
	if first {
		p.queue = slices.Insert(p.queue, 0, id)
		if p.going != "" {
			p.jobs.stop(p.going)
		}
	} else {
		p.queue = append(p.queue, id)
	}
	select {
	case p.wake <- struct{}{}:
	default:
	}
}

// setDone records that the work k on a take has its proposals already.
func (p *proposals) setDone(id string, k *Work) {
	p.mu.Lock()
	defer p.mu.Unlock()
	p.at[id] = &proposal{key: keyOf(k), state: proposeDone}
}

// giveWay interrupts the take being worked on, for a job that somebody waits for. The take goes back into the queue.
func (p *proposals) giveWay() {
	p.mu.Lock()
	defer p.mu.Unlock()
	if p.going != "" {
		p.jobs.stop(p.going)
	}
}

// stop ends the proposing for a take. It does not go back into the queue.
func (p *proposals) stop(id string) {
	p.mu.Lock()
	defer p.mu.Unlock()
	p.queue = slices.DeleteFunc(p.queue, func(q string) bool { return q == id })
	if o := p.at[id]; o != nil && o.state != proposeDone {
		o.state, o.said = proposeOff, said{}
	}
	p.jobs.stop(id)
}

// forget ends the proposing for a take that is taken off the machine.
func (p *proposals) forget(id string) {
	p.stop(id)
	p.jobs.end(id)
	p.mu.Lock()
	defer p.mu.Unlock()
	delete(p.at, id)
}

// state returns a copy of the state for a take.
func (p *proposals) state(id string) proposal {
	p.mu.Lock()
	defer p.mu.Unlock()
	if o := p.at[id]; o != nil {
		return *o
	}
	return proposal{}
}

// run works through the queue until ctx ends.
func (p *proposals) run(ctx context.Context) {
	for {
		id, o := p.next()
		if o == nil {
			select {
			case <-ctx.Done():
				return
			case <-p.wake:
				continue
			}
		}
		err := p.jobs.begin(id, func(ctx context.Context, tell func(event)) error {
			err := p.propose(ctx, id, o, tell)
			p.finish(id, o, err, ctx.Err() != nil)
			return nil
		})
		if err != nil {
			p.finish(id, o, err, false)
		}
		p.s.hub.tell("", event{Kind: "today"})
		p.jobs.wait(id)
		if ctx.Err() != nil {
			return
		}
		if o.passes != nil {
			if err := p.s.split(ctx, id, o.passes, o.without, o.key); err != nil {
				p.s.log("%s was not split into its passes: %v", id, err)
			}
		}
		p.s.hub.tell("", event{Kind: "today"})
	}
}

// next takes the next take out of the queue.
func (p *proposals) next() (string, *proposal) {
	p.mu.Lock()
	defer p.mu.Unlock()
	p.going = ""
	if len(p.queue) == 0 {
		return "", nil
	}
	id := p.queue[0]
	o := p.at[id]
	p.queue = p.queue[1:]
	if o == nil {
		return "", nil
	}
	p.going, o.state = id, proposeGoing
	return id, o
}

// finish records how the proposing for a take ended. If it was interrupted, the take goes back behind the first of the queue.
func (p *proposals) finish(id string, o *proposal, err error, stopped bool) {
	p.mu.Lock()
	defer p.mu.Unlock()
	p.going = ""
	meant := new(desk.Meant)
	switch {
	case p.at[id] != o: // asked for once more meanwhile
	case o.state == proposeOff:
	case stopped:
		o.state, o.part = proposeWaiting, 0
		at := min(1, len(p.queue))
		p.queue = slices.Insert(p.queue, at, id)
	case errors.As(err, &meant):
		o.state, o.frame = proposeWho, meant.Frame
		o.said = said{"two people are seen", "click on the athlete in the picture"}
	case err != nil:
		o.state = proposeFailed
		_, o.said = say(err)
	default:
		o.state = proposeDone
	}
}

// propose proposes marks for a take and puts them into the work, or finds the passes of a clip.
func (p *proposals) propose(ctx context.Context, id string, o *proposal, tell func(event)) error {
	t, done, err := p.s.lend(ctx, id)
	if err != nil {
		return err
	}
	defer done()
	file, err := clipOf(t)
	if err != nil {
		return err
	}
	work, err := p.work(id)
	if err != nil {
		return err
	}
	blank := *work
	blank.Frames = nil
	if blank.Facing == proposedFacing(work) {
		blank.Facing = ""
	}
	q, err := p.s.request(ctx, id, &blank, 0)
	if err != nil {
		return err
	}
	progress := func(part float64) {
		p.mu.Lock()
		o.part = part
		p.mu.Unlock()
		tell(event{Done: int(100 * part), Of: 100})
	}
	a, err := p.s.store.About(id)
	if err != nil {
		return err
	}
	from, to := 0, 0
	if a.Part != nil {
		from, to = a.Part.From, a.Part.To
	} else if !o.athlete.Given {
		// several passes become several takes; an error is left to the clip as a whole, below
		passes, without, err := p.s.config.Desk.ProposeSeveral(ctx, file, q, progress)
		if ctx.Err() != nil {
			return ctx.Err()
		}
		if err == nil && len(passes) > 1 {
			o.passes, o.without = passes, without
			return nil
		}
		if len(passes) == 1 { // the passes without a moment are noted
			if err := p.s.store.Without(id, without); err != nil {
				return err
			}
		}
	}
	got, err := p.s.config.Desk.ProposeIn(ctx, file, q, o.athlete, from, to, progress)
	if ctx.Err() != nil {
		return ctx.Err()
	}
	if err != nil {
		if meant := new(desk.Meant); !errors.As(err, &meant) {
			err = named(err, p.s.store.TakePath(id), a.Name)
		}
		got = &desk.Proposal{}
	}
	return errors.Join(err, p.put(id, o.key, got.Marks))
}

// put puts proposed marks into the work on a take, in place of proposals that nobody confirmed; m may be nil. It
// changes nothing if a person has placed marks meanwhile, or reads something else.
func (p *proposals) put(id, key string, m *reading.Marks) error {
	for {
		k, err := p.work(id)
		if err != nil {
			return err
		}
		if keyOf(k) != key {
			return nil
		}
		mine := *k
		if changed := mine.propose(m); !changed {
			return nil
		}
		now, saved, err := p.s.works.save(id, &mine)
		if err != nil {
			return err
		}
		if saved {
			p.s.hub.tell(id, event{Kind: "work", Version: now.Version})
			return nil
		}
	}
}

// proposalView is the state of the proposals for a take as a window shows it.
type proposalView struct {
	State string  `json:"state"`
	Part  float64 `json:"part"`
	Said  said    `json:"said"`
	Frame int     `json:"frame"`
}

// proposal sends the state of the proposals for a take, and queues it if there are none.
func (s *Server) proposal(w http.ResponseWriter, r *http.Request) {
	id := r.PathValue("id")
	if _, err := s.store.About(id); err != nil {
		s.fail(w, r, err)
		return
	}
	s.proposals.want(id, false)
	o := s.proposals.state(id)
	answer(w, http.StatusOK, proposalView{o.state, o.part, o.said, o.frame})
}

// proposeFor has marks proposed for the person at the place that the body names.
func (s *Server) proposeFor(w http.ResponseWriter, r *http.Request) {
	var o struct {
		At    reading.Pixel `json:"at"`
		Frame int           `json:"frame"`
	}
	id := r.PathValue("id")
	_, err := s.store.About(id)
	if err == nil {
		err = s.receive(w, r, 1<<10, &o)
	}
	if err == nil && o.Frame < 0 {
		err = refuse(http.StatusBadRequest, "the request is not understood: the frame is negative", "load the page again")
	}
	if err == nil {
		err = s.proposals.meant(id, desk.Athlete{At: geometry.Point{X: o.At[0], Y: o.At[1]}, Frame: o.Frame, Given: true})
	}
	if err != nil {
		s.fail(w, r, err)
		return
	}
	w.WriteHeader(http.StatusNoContent)
}

// stopProposing ends the proposing for a take, whose marks are then placed by hand.
func (s *Server) stopProposing(w http.ResponseWriter, r *http.Request) {
	id := r.PathValue("id")
	if _, err := s.store.About(id); err != nil {
		s.fail(w, r, err)
		return
	}
	s.proposals.stop(id)
	s.hub.tell("", event{Kind: "today"})
	w.WriteHeader(http.StatusNoContent)
}
