package desk

import (
	"fmt"

	"ecart/cmd/internal/fault"
	"ecart/cmd/internal/journal"
	"ecart/cmd/internal/reading"
	"ecart/geometry"
)

// Remake makes a kept reading again from what the journal kept of it.
func Remake(e *journal.Entry) (*reading.Reading, error) {
	q, err := Again(e)
	if err != nil {
		return nil, err
	}
	kept, err := e.Parse()
	if err != nil {
		return nil, err
	}
	if kept.Peak != nil && q.Movement == nil {
		return nil, fault.New(fmt.Sprintf("reading %d is of the peak of a clip, and what was found between its frames was not kept", e.ID), "follow the clip again and keep that")
	}
	r, err := reading.Read(q)
	if err != nil {
		return nil, err
	}
	r.Peak = kept.Peak
	return r, nil
}

// Again is the request that makes a kept reading again.
func Again(e *journal.Entry) (reading.Request, error) {
	q, err := e.Again()
	if err != nil {
		return q, err
	}
	var ok bool
	if q.Measure, ok = geometry.Lookup(e.Request.Measure); !ok {
		return q, fault.New(fmt.Sprintf("there is no measure %q", e.Request.Measure), "read it with the version of ecart that knew it")
	}
	if len(e.Request.Lens) > 0 {
		q.Lens, err = ParseLens(fmt.Sprintf("of reading %d", e.ID), e.Request.Lens)
	}
	return q, err
}
