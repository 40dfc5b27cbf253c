package forecast

import (
	"context"
	"runtime"
	"sync"
	"sync/atomic"
)

// Each calls f for 0 to n-1, as many at once as there are cores, and returns the first error by number, or
// ctx's when it was stopped. No further call begins after either.
func Each(ctx context.Context, n int, f func(i int) error) error {
	errs := make([]error, n)
	var next atomic.Int64
	var failed atomic.Bool
	var wg sync.WaitGroup
	for range min(n, runtime.GOMAXPROCS(0)) {
		wg.Add(1)
		go func() {
			defer wg.Done()
			for {
				i := int(next.Add(1) - 1)
				if i >= n || failed.Load() || ctx.Err() != nil {
					return
				}
				if errs[i] = f(i); errs[i] != nil {
					failed.Store(true)
				}
			}
		}()
	}
	wg.Wait()
	if err := ctx.Err(); err != nil {
		return err
	}
	for _, err := range errs {
		if err != nil {
			return err
		}
	}
	return nil
}
