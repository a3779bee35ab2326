package pull

// SameMoment finds among the pulls of another cell the one that is p as that
// cell saw it: the one that overlaps p for the longest time, the first of
// several. It gives its place in among, or -1 where none overlaps. Both cells'
// times count from the same moment.
func SameMoment(p Pull, among []Pull) int {
	best, longest := -1, int64(0)
	for i, q := range among {
		if overlap := min(p.End, q.End) - max(p.Start, q.Start); overlap > longest {
			longest, best = overlap, i
		}
	}
	return best
}
