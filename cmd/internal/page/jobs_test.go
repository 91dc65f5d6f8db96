package page

import (
	"context"
	"errors"
	"net/http"
	"testing"
	"testing/synctest"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// backstage returns a server with only the background work and the windows.
func backstage() (*Server, *listener) {
	s := &Server{hub: newHub(), config: Config{Log: func(string) {}}}
	s.ctx, s.stop = context.WithCancel(context.Background())
	return s, s.hub.join("a")
}

// eventsOf returns the events of the work on the take, in order.
func eventsOf(l *listener) (out []event) {
	for {
		select {
		case e := <-l.out:
			if e.Kind != "windows" {
				out = append(out, e)
			}
		default:
			return out
		}
	}
}

func testJobs(s *Server) *jobs {
	return newJobs(s, "doing", "did", said{"busy", "wait"}, said{"stopped", "again"})
}

func TestJobsAreOneAtATimeAndTellHowTheyEnd(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		s, l := backstage()
		j := testJobs(s)
		require.NoError(t, j.begin("a", func(_ context.Context, tell func(event)) error {
			for i := range 100 {
				tell(event{Done: i})
				time.Sleep(10 * time.Millisecond)
			}
			return refuse(http.StatusUnprocessableEntity, "no good", "do better")
		}))
		err := j.begin("a", func(context.Context, func(event)) error { return nil })
		status, words := say(err)
		assert.Equal(t, http.StatusConflict, status)
		assert.Equal(t, said{"busy", "wait"}, words)
		require.NoError(t, j.begin("b", func(context.Context, func(event)) error { return nil }), "another take")
		s.wg.Wait()
		es := eventsOf(l)
		require.Len(t, es, 11, "a second of work tells ten times, and once how it ended")
		for _, e := range es[:10] {
			assert.Equal(t, "doing", e.Kind)
		}
		assert.Equal(t, event{Kind: "did", Said: &said{"no good", "do better"}}, es[10])
		assert.False(t, j.stop("a"), "it has ended")
		require.NoError(t, j.begin("a", func(context.Context, func(event)) error { return nil }), "and can begin anew")
		s.wg.Wait()
		assert.Equal(t, []event{{Kind: "did"}}, eventsOf(l))
	})
}

// Files of a removed take are not written again by work that was going on.
func TestJobsEndAfterTheLastWrite(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		s, l := backstage()
		j := testJobs(s)
		written := false
		require.NoError(t, j.begin("a", func(ctx context.Context, _ func(event)) error {
			<-ctx.Done()
			time.Sleep(time.Second) // a frame is finished first
			written = true
			return ctx.Err()
		}))
		j.end("a")
		assert.True(t, written)
		s.wg.Wait()
		assert.Equal(t, []event{{Kind: "did", Said: &said{"stopped", "again"}}}, eventsOf(l))
		j.end("a") // of none
	})
}

func TestJobsEndWithTheServer(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		s, l := backstage()
		require.NoError(t, testJobs(s).begin("a", func(ctx context.Context, _ func(event)) error {
			<-ctx.Done()
			return errors.Join(errors.New("odd"), ctx.Err())
		}))
		s.stop()
		s.wg.Wait()
		assert.Equal(t, []event{{Kind: "did", Said: &said{"stopped", "again"}}}, eventsOf(l))
	})
}
