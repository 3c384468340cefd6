package bench

import (
	"encoding/json"
	"slices"
	"sync"
	"testing"
	"time"

	"halfstick/input"
)

// stamped is a counting source that remembers when it gave each row.
type stamped struct {
	counting
	mu sync.Mutex
	at map[int16]time.Time
}

func (s *stamped) Poll(counts []int16, present []bool) error {
	err := s.counting.Poll(counts, present)
	s.mu.Lock()
	defer s.mu.Unlock()
	s.at[counts[0]] = time.Now()
	return err
}

func (s *stamped) since(counts int16) time.Duration {
	s.mu.Lock()
	defer s.mu.Unlock()
	return time.Since(s.at[counts])
}

// BenchmarkSampleToPage is how old the newest and the oldest row of a frame is
// when the page gets it, over two seconds of frames.
func BenchmarkSampleToPage(b *testing.B) {
	source := &stamped{at: map[int16]time.Time{}}
	c := config(b)
	c.RateHz = 500
	c.Open = func() (input.Source, error) { return source, nil }
	d := run(b, c)
	var newest, oldest []time.Duration
	for b.Loop() {
		frames := 0
		began := time.Now()
		d.stream(func(name string, data []byte) bool {
			var r rows
			if name != "rows" || json.Unmarshal(data, &r) != nil {
				return false
			}
			if frames++; frames > 1 { // the first holds the past
				newest = append(newest, source.since(*r.Counts[0][len(r.T)-1]))
				oldest = append(oldest, source.since(*r.Counts[0][0]))
			}
			return frames > 120
		})
		b.ReportMetric(float64(frames)/time.Since(began).Seconds(), "frames/s")
	}
	slices.Sort(newest)
	slices.Sort(oldest)
	ms := func(d time.Duration) float64 { return float64(d) / float64(time.Millisecond) }
	b.ReportMetric(ms(newest[len(newest)/2]), "ms/newest-p50")
	b.ReportMetric(ms(newest[len(newest)*99/100]), "ms/newest-p99")
	b.ReportMetric(ms(oldest[len(oldest)*99/100]), "ms/oldest-p99")
}
