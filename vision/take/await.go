package take

import "context"

// await returns what do returns, or the error of ctx at once where ctx ends first: a library may work for
// seconds on one large picture and does not look at a context. do then goes on by itself, and what it
// returns without an error in the end goes to drop.
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
