package cli

import (
	"fmt"

	"ecart/cmd/internal/journal"
	"ecart/cmd/internal/reading"
	"ecart/geometry"
)

// remake makes a kept reading again from what the journal kept of it.
func remake(e *journal.Entry) (*reading.Reading, error) {
	q, err := again(e)
	if err != nil {
		return nil, err
	}
	kept, err := e.Parse()
	if err != nil {
		return nil, err
	}
	if kept.Peak != nil && q.Movement == nil {
		return nil, &inputError{fmt.Sprintf("reading %d is of the peak of a clip, and what was found between its frames was not kept", e.ID), "follow the clip again and keep that"}
	}
	r, err := reading.Read(q)
	if err != nil {
		return nil, err
	}
	r.Peak = kept.Peak
	return r, nil
}

// again is the request that makes a kept reading again.
func again(e *journal.Entry) (reading.Request, error) {
	q, err := e.Again()
	if err != nil {
		return q, err
	}
	if q.Measure, err = measureNamed(e.Request.Measure); err != nil {
		return q, err
	}
	if len(e.Request.Lens) > 0 {
		q.Lens, err = parseLens(fmt.Sprintf("of reading %d", e.ID), e.Request.Lens)
	}
	return q, err
}

func measureNamed(name string) (geometry.Measure, error) {
	m, ok := geometry.Lookup(name)
	if !ok {
		return m, &inputError{fmt.Sprintf("there is no measure %q", name), "read it with the version of ecart that knew it"}
	}
	return m, nil
}
