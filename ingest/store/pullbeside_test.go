package store

import (
	"testing"

	"github.com/stretchr/testify/require"

	"tautlog/calc/gear"
	"tautlog/calc/rig"
)

// TestPullBeside finds the same pull at the rig's other cell, by the name that
// the cell had then, and nothing where there is none.
func TestPullBeside(t *testing.T) {
	t.Parallel()
	s := open(t, t.TempDir(), Options{Now: atNine})
	ctx := t.Context()
	cells := map[string]int64{}
	for _, name := range []string{"left", "right", "third"} {
		c, err := s.SaveCell(ctx, Cell{Name: name})
		require.NoError(t, err)
		cells[name] = c.ID
	}
	two := rig.Rig{Name: "two", Pulling: gear.Vehicle{Name: "a"}, Stuck: gear.Vehicle{Name: "b"}, Chain: []rig.Link{
		rig.InLine(gear.Item{Name: "left", Kind: gear.LoadCell}), rig.InLine(gear.Item{Name: "right", Kind: gear.LoadCell})}}
	one := two
	one.Chain = two.Chain[:1]
	save := func(cell string, r *rig.Rig, from, to int64) Pull {
		p, err := s.SavePull(ctx, Pull{Cell: cells[cell], Rig: r, Found: foundAt(morning+from*second, morning+to*second)})
		require.NoError(t, err)
		return p
	}
	long := save("right", nil, 0, 100) // an earlier, longer one: the search looks back that far
	p := save("left", &two, 10, 20)
	short := save("left", &one, 40, 50)
	late := save("left", &two, 200, 210)
	save("third", &two, 11, 19)
	stranger := save("third", &two, 205, 215)
	beside := func(p Pull) int64 {
		q, ok, err := s.PullBeside(ctx, p)
		require.NoError(t, err)
		require.Equal(t, ok, q.ID != 0)
		return q.ID
	}
	require.Equal(t, long.ID, beside(p))
	require.Zero(t, beside(short), "its rig has one cell")
	require.Zero(t, beside(late), "the other cell has none then")
	require.Zero(t, beside(stranger), "read by a cell that the rig does not have")
	require.Zero(t, beside(long), "its rig is not known")

	renamed, err := s.CellByName(ctx, "right")
	require.NoError(t, err)
	renamed.Name = "far right"
	_, err = s.SaveCell(ctx, renamed)
	require.NoError(t, err)
	q, ok, err := s.PullBeside(ctx, p)
	require.NoError(t, err)
	require.True(t, ok, "another name of today changes nothing")
	require.Equal(t, "right", q.Read)
}
