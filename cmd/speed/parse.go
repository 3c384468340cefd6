package main

import (
	"bytes"
	"io"
	"os"
	"runtime"
	"sync"
)

// parseBlock is how much of the file one core takes at a time.
const parseBlock = 1 << 20

// parseIntegers reads every whole number of a file on every core and gives
// their sum: the least that a reader of recordings must do, without a check.
func parseIntegers(path string) (int64, error) {
	f, err := os.Open(path)
	if err != nil {
		return 0, err
	}
	defer f.Close()
	info, err := f.Stat()
	if err != nil {
		return 0, err
	}
	var wg sync.WaitGroup
	workers := runtime.GOMAXPROCS(0)
	sums, errs := make([]int64, workers), make([]error, workers)
	for w := range workers {
		wg.Go(func() {
			// Room for the line that begins in a block and ends in the next.
			buf := make([]byte, 2*parseBlock)
			for at := int64(w) * parseBlock; at < info.Size(); at += int64(workers) * parseBlock {
				n, err := f.ReadAt(buf, at)
				if err != nil && err != io.EOF {
					errs[w] = err
					return
				}
				sums[w] += sumIntegers(linesOf(buf[:n], at))
			}
		})
	}
	wg.Wait()
	total := int64(0)
	for w := range workers {
		if errs[w] != nil {
			return 0, errs[w]
		}
		total += sums[w]
	}
	return total, nil
}

// linesOf is the lines that begin within the block at the start of buf.
func linesOf(buf []byte, at int64) []byte {
	from, to := 0, len(buf)
	if at > 0 {
		from = bytes.IndexByte(buf, '\n') + 1
	}
	if len(buf) > parseBlock {
		to = parseBlock + bytes.IndexByte(buf[parseBlock:], '\n') + 1
	}
	return buf[from:to]
}

func sumIntegers(text []byte) int64 {
	var sum, n int64
	sign := int64(1)
	for _, c := range text {
		switch {
		case c >= '0' && c <= '9':
			n = 10*n + int64(c-'0')
		case c == '-':
			sign = -1
		default:
			sum += sign * n
			n, sign = 0, 1
		}
	}
	return sum + sign*n
}
