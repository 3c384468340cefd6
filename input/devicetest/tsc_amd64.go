package devicetest

import "time"

// ticks reads the processor's time stamp counter.
func ticks() int64

// tickKHz measures how fast the time stamp counter runs. The emulated
// processor hands the host's counter to the guest, whose own calibration
// against an emulated timer goes wrong when the host is busy.
func tickKHz() int64 {
	const span = 200 * time.Millisecond
	start, from := time.Now(), ticks()
	time.Sleep(span)
	took, to := time.Since(start), ticks()
	return (to - from) * int64(time.Millisecond) / int64(took)
}
