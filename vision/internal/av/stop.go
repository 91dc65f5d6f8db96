package av

// #include <stdlib.h>
import "C"

import (
	"context"
	"sync"
	"sync/atomic"
	"unsafe"
)

// stop tells the C code of one clip whether the context of the caller has ended.
type stop struct {
	mu     sync.Mutex
	flag   *int32 // in C memory, read there at any time: 1 once the context has ended; nil once freed
	number int    // of the context heeded now
	forget func() bool
}

func newStop(ctx context.Context) *stop {
	s := &stop{flag: (*int32)(C.calloc(1, C.size_t(unsafe.Sizeof(int32(0)))))}
	s.heed(ctx)
	return s
}

// heed follows ctx from now on, and no longer the one before.
func (s *stop) heed(ctx context.Context) {
	s.mu.Lock()
	defer s.mu.Unlock()
	if s.forget != nil {
		s.forget()
	}
	s.number++
	number := s.number
	ended := int32(0)
	if ctx.Err() != nil {
		ended = 1
	}
	atomic.StoreInt32(s.flag, ended)
	s.forget = context.AfterFunc(ctx, func() {
		s.mu.Lock()
		defer s.mu.Unlock()
		if s.flag != nil && s.number == number {
			atomic.StoreInt32(s.flag, 1)
		}
	})
}

// free is called once, after the C code has let go of the flag.
func (s *stop) free() {
	s.mu.Lock()
	defer s.mu.Unlock()
	s.forget()
	C.free(unsafe.Pointer(s.flag))
	s.flag = nil
}
