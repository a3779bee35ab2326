package store

import "tautlog/calc/words"

// predictor is how a frame foresees its readings.
type predictor uint

const (
	byMean predictor = iota
	byLast
	bySlope
	predictors
)

var errCoded = words.Kind("store.payload.coded")

// history is what the coder and the decoder both know before a frame.
type history struct {
	last, slope int64 // of the frame before
	mean        int64 // of the latest frame that was coded by its mean
}

// step moves the history past a frame.
func (h *history) step(frame []int64) {
	n := len(frame)
	before := h.last
	if n > 1 {
		before = frame[n-2]
	}
	h.last = frame[n-1]
	h.slope = h.last - before
}

// fold maps small numbers of either sign to small unsigned ones.
func fold(v int64) uint64 { return uint64(v<<1) ^ uint64(v>>63) }

func unfold(u uint64) int64 { return int64(u>>1) ^ -int64(u&1) }
