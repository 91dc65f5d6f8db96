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
	flag   *int32      // in C memory, read there at any time: 1 once the context has ended; nil once freed
	number int         // of the current context, counted from 1
	forget func() bool // detaches the current context
}

func newStop(ctx context.Context) *stop {
	s := &stop{flag: (*int32)(C.calloc(1, C.size_t(unsafe.Sizeof(int32(0)))))}
	s.heed(ctx)
	return s
}

// heed replaces the current context by ctx.
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

// free frees the flag. It is called once, after the last C call that uses the flag.
func (s *stop) free() {
	s.mu.Lock()
	defer s.mu.Unlock()
	s.forget()
	C.free(unsafe.Pointer(s.flag))
	s.flag = nil
}
