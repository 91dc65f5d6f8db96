// Package locked has a buffer that several goroutines may share; only tests and studies use it.
package locked

import (
	"bytes"
	"sync"
)

// Buffer may be written and read by several goroutines.
type Buffer struct {
	mu sync.Mutex
	b  bytes.Buffer
}

func (l *Buffer) Write(p []byte) (int, error) {
	l.mu.Lock()
	defer l.mu.Unlock()
	return l.b.Write(p)
}

func (l *Buffer) String() string {
	l.mu.Lock()
	defer l.mu.Unlock()
	return l.b.String()
}
