package take

import (
	"context"
	"crypto/sha256"
	"encoding/hex"
	"io"
	"os"
)

// sum computes the SHA-256 of a file in the background.
type sum struct {
	cancel context.CancelFunc
	done   chan struct{}
	hex    string // valid once done is closed; "" if the file could not be read to its end
}

func startSum(path string) *sum {
	ctx, cancel := context.WithCancel(context.Background())
	s := &sum{cancel: cancel, done: make(chan struct{})}
	go func() {
		defer close(s.done)
		s.hex = hashFile(ctx, path)
	}()
	return s
}

// hashFile returns the SHA-256 of a file, or "" if it cannot be read to its end or ctx ends.
func hashFile(ctx context.Context, path string) string {
	f, err := os.Open(path)
	if err != nil {
		return ""
	}
	defer f.Close()
	h := sha256.New()
	buf := make([]byte, 1<<20)
	for ctx.Err() == nil {
		n, err := f.Read(buf)
		h.Write(buf[:n])
		if err == io.EOF {
			return hex.EncodeToString(h.Sum(nil))
		}
		if err != nil {
			break
		}
	}
	return ""
}

// wait waits for the hash. If ctx ends first, it returns the error of ctx.
func (s *sum) wait(ctx context.Context) (string, error) {
	select {
	case <-s.done:
		return s.hex, nil
	case <-ctx.Done():
		return "", ctx.Err()
	}
}

// stop cancels the computation and waits until it has ended.
func (s *sum) stop() {
	s.cancel()
	<-s.done
}
