package page

import (
	"context"
	"errors"
	"fmt"
	"net"
	"net/http"
	"sync"
	"time"

	"ecart/cmd/internal/desk"
	"ecart/cmd/internal/page/folder"
	"ecart/cmd/internal/record"

	"golang.org/x/sync/semaphore"
)

// Config configures a Server.
type Config struct {
	Dir string // the data folder, made where it is missing
	// Journal is the name of the journal's file, which may lie in Dir.
	Journal string
	// Desk opens, reads and keeps takes; nil is one with the usual places.
	Desk *desk.Desk

	// Demo returns the built-in take and its name.
	Demo func() (name string, clip []byte)

	// Linger is how long after its last window was closed the page ends by itself; 0 is never.
	Linger time.Duration

	MostBytes int64            // of one take; 0 is MostBytes
	Now       func() time.Time // nil: time.Now
	Log       func(line string)
}

// MostBytes is the largest size of a take that is accepted, unless Config says
// otherwise.
const MostBytes = 2 << 30

// Skill is a skill as it is offered.
type Skill struct {
	Ref     string  `json:"ref"` // BOOK/NAME
	Title   string  `json:"title"`
	Book    string  `json:"book"`
	Measure string  `json:"measure"`
	Asked   float64 `json:"asked_deg"`
	Ratio   string  `json:"ratio,omitempty"` // judged in place of an angle

	Needs []string `json:"needs,omitempty"` // landmarks that the skill needs and the measure does not
}

// Server is the page of one data folder.
type Server struct {
	config    Config
	record    *record.Record
	store     *folder.Folder
	pool      *pool
	looks     *looks
	works     *works
	notebook  *notebook
	rowReads  *rowReads
	hub       *hub
	follows   *follows
	drawn     *drawn
	proposals *proposals
	lenses    *lenses
	areas     *areas
	cache     *cache
	damage    damage
	addr      string // host:port of this server

	entrance  *entrance
	announced sync.Mutex
	read      chan struct{}
	turns     *semaphore.Weighted // of pictures that are being made
	working   chan struct{}       // of the clip that is followed or drawn
	silence   time.Duration       // after which a body of which nothing comes is given up

	stop context.CancelFunc // ends the background work
	ctx  context.Context
	wg   sync.WaitGroup
}

// New opens the data folder, which no other server may be using. Close releases
// it.
func New(c Config) (*Server, error) {
	if c.MostBytes == 0 {
		c.MostBytes = MostBytes
	}
	if c.Now == nil {
		c.Now = time.Now
	}
	if c.Desk == nil {
		c.Desk = desk.New(desk.Options{Now: c.Now})
	}
	if c.Log == nil {
		c.Log = func(string) {}
	}
	st, err := folder.Open(c.Dir, c.Journal)
	if err != nil {
		return nil, err
	}
	s := &Server{config: c, record: record.New(c.Desk), store: st, cache: newCache(cacheBytes), hub: newHub(), read: make(chan struct{}, 1),
		turns: semaphore.NewWeighted(pictures), working: make(chan struct{}, 1), silence: silence}
	s.ctx, s.stop = context.WithCancel(context.Background())
	s.pool = newPool(s.ctx, st, openFile(c.Desk))
	s.works = newWorks(st)
	s.notebook = newNotebook(st)
	if err := s.notebook.tidy(); err != nil {
		s.log("%v", err)
	}
	s.rowReads = newRowReads(s)
	s.looks = newLooks(s)
	s.follows = newFollows(s)
	s.drawn = newDrawn(s)
	s.proposals = newProposals(s)
	s.lenses = newLenses(s)
	s.areas = &areas{at: map[string]*moves{}}
	s.entrance = newEntrance(c.Now)
	s.background(s.renew)
	if st.Left != nil {
		s.log("%v", st.Left)
	}
	return s, nil
}

// Listen opens a loopback port: the one asked for, or if port is 0 the usual
// one, or any if that is taken.
func (s *Server) Listen(port int) (net.Listener, error) {
	tries := []int{port}
	if port == 0 {
		tries = []int{usualPort, 0}
	}
	var err error
	for _, p := range tries {
		var l net.Listener
		if l, err = net.Listen("tcp4", fmt.Sprintf("127.0.0.1:%d", p)); err == nil {
			s.addr = l.Addr().String()
			s.announce()
			return l, nil
		}
	}
	return nil, &fault{0, fmt.Sprintf("the port %d cannot be had: %v", port, reason(err)), "give another with --port, or leave it out to have one chosen"}
}

// usualPort is tried first, so that an address stays the same from day to
// day. It is in the range that is never assigned, 49152 to 65535 (RFC 6335).
const usualPort = 52717

// grace is how long requests get to end by themselves when the server ends, and once more after their context
// is cancelled: both together stay under half a second.
const grace = 200 * time.Millisecond

// Serve answers on l until ctx ends.
func (s *Server) Serve(ctx context.Context, l net.Listener) error {
	ctx, end := context.WithCancel(ctx)
	defer end()
	if s.config.Linger > 0 {
		s.hub.whenAlone(s.config.Linger, func() {
			if s.follows.jobs.underWay() || s.drawn.jobs.underWay() || s.proposals.jobs.underWay() || s.lenses.jobs.underWay() {
				s.hub.restart()
				return
			}
			s.log("the last window was closed %v ago: the page ends", s.config.Linger)
			end()
		})
	}
	h := &http.Server{
		Handler:           s.handler(),
		ReadHeaderTimeout: 10 * time.Second,
		IdleTimeout:       2 * time.Minute,
		MaxHeaderBytes:    32 << 10,
		BaseContext:       func(net.Listener) context.Context { return s.ctx },
		ErrorLog:          quiet(s.config.Log),
	}
	done := make(chan struct{})
	defer context.AfterFunc(ctx, func() {
		defer close(done)
		s.hub.close()
		for range 2 {
			within, cancel := context.WithTimeout(context.Background(), grace)
			err := h.Shutdown(within)
			cancel()
			if err == nil {
				return
			}
			s.stop() // ends the context of every request
		}
		h.Close()
	})()
	err := h.Serve(l)
	if ctx.Err() != nil {
		<-done
	}
	if errors.Is(err, http.ErrServerClosed) {
		return nil
	}
	return err
}

// Close ends the background work and releases the data folder.
func (s *Server) Close() {
	s.stop()
	s.wg.Wait()
	s.entrance.end()
	s.pool.close()
	s.looks.close()
	s.store.Close()
}

func (s *Server) log(format string, a ...any) { s.config.Log(fmt.Sprintf(format, a...)) }

// background runs fn until it returns or the server is closed.
func (s *Server) background(fn func(ctx context.Context)) {
	s.wg.Add(1)
	go func() {
		defer s.wg.Done()
		fn(s.ctx)
	}()
}
