package take

import "context"

// await runs do and returns its result. If ctx ends first, await returns the error of ctx at once: a
// library may spend seconds on one large picture without checking a context. do then continues in the
// background, and drop receives its value if it ends without an error.
func await[T any](ctx context.Context, do func() (T, error), drop func(T)) (T, error) {
	var none T
	if err := ctx.Err(); err != nil {
		return none, err
	}
	type result struct {
		value T
		err   error
	}
	done := make(chan result, 1)
	go func() {
		v, err := do()
		done <- result{v, err}
	}()
	select {
	case r := <-done:
		return r.value, r.err
	case <-ctx.Done():
		go func() {
			if r := <-done; r.err == nil {
				drop(r.value)
			}
		}()
		return none, ctx.Err()
	}
}
