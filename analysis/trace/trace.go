// Package trace holds force over time as the analysis sees it: batches of
// samples with nanosecond times, marks that an instrument put on a reading,
// gaps, and the filters and reductions that work on them.
//
// It knows nothing of files, instruments, clocks or databases.
package trace

// Mark is what an instrument said about one reading.
type Mark uint8

// The marks. The zero Mark is an ordinary reading.
const (
	// Overload: the instrument was beyond its range; the force was at least this.
	Overload Mark = 1 << iota
	// Invalid: the instrument said that the value means nothing.
	Invalid
	// Lost: the instrument's own count shows that readings are missing just
	// before this one.
	Lost
)

// Batch is a run of consecutive samples, column by column.
//
// T holds times in nanoseconds since any origin, strictly rising, also from
// one batch to the next. F holds forces in newtons, as read: nothing taken
// off. Marks is nil where every reading is ordinary, else as long as T.
type Batch struct {
	T     []int64
	F     []float64
	Marks []Mark
}

// Len is the number of samples.
func (b Batch) Len() int { return len(b.T) }

// Slice is the samples from i up to, not including, j. It shares their memory.
func (b Batch) Slice(i, j int) Batch {
	part := Batch{T: b.T[i:j], F: b.F[i:j]}
	if b.Marks != nil {
		part.Marks = b.Marks[i:j]
	}
	return part
}
