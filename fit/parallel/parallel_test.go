package parallel

import (
	"runtime"
	"sync"
	"sync/atomic"
	"testing"
	"time"
)

// Each number comes once, none is left, and no more are under way than there are
// processors.
func TestEach(t *testing.T) {
	for _, n := range []int{0, 1, 2, 100} {
		times := make([]int, n)
		var busy, most atomic.Int64
		var mu sync.Mutex
		Each(n, func(i int) {
			now := busy.Add(1)
			mu.Lock()
			most.Store(max(now, most.Load()))
			mu.Unlock()
			times[i]++
			time.Sleep(time.Millisecond) // time for more than there should be
			busy.Add(-1)
		})
		for i, k := range times {
			if k != 1 {
				t.Errorf("of %d, %d came %d times", n, i, k)
			}
		}
		if busy.Load() != 0 || most.Load() > int64(runtime.GOMAXPROCS(0)) {
			t.Errorf("of %d, %d were left and %d at once", n, busy.Load(), most.Load())
		}
	}
}
