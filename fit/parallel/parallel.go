// Package parallel does things on all processors that do not touch each other,
// such as the axes of a recording.
package parallel

import (
	"runtime"
	"sync"
	"sync/atomic"
)

// Each calls do with 0 to n−1, as many at a time as there are processors, and
// returns when all are done.
func Each(n int, do func(i int)) {
	var next atomic.Int64
	var working sync.WaitGroup
	for range min(n, runtime.GOMAXPROCS(0)) {
		working.Go(func() {
			for i := int(next.Add(1)) - 1; i < n; i = int(next.Add(1)) - 1 {
				do(i)
			}
		})
	}
	working.Wait()
}
