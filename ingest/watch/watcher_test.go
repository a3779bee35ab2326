package watch

import (
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"tautlog/calc/rig"
	"tautlog/ingest/needs"
	"tautlog/ingest/store"
)

// await receives until one fits.
func await(t *testing.T, s *Subscription, fits func(Found) bool) Found {
	t.Helper()
	late := time.After(needs.Patience)
	for {
		select {
		case f := <-s.C:
			if fits(f) {
				return f
			}
		case <-late:
			require.Fail(t, "no such result")
		}
	}
}

// Somebody who waits for the result of a pull has it a second after the line is
// slack: the readings of that second tell that the pull is over.
func TestAPullIsFoundWithinASecondOfSlack(t *testing.T) {
	t.Parallel()
	const at, length, peak = 3000, 600, 25000
	forces := quiet(10000, 1)
	addPulse(forces, at, length, peak)
	b := newBench(t, t.TempDir())
	sub := b.watcher.Subscribe()
	defer sub.Close()
	b.push(forces[:at+length+1000])
	select {
	case f := <-sub.C:
		assert.True(t, f.Provisional)
		assert.InEpsilon(t, peak, float64(f.Pull.Found.Peak), 0.005)
	default:
		t.Error("nothing was found")
	}
}

func TestAPullIsShownBeforeItIsSettled(t *testing.T) {
	t.Parallel()
	const at, length, peak = 3000, 600, 25000
	forces := quiet(10000, 1)
	addPulse(forces, at, length, peak)
	in := startSender(t, forces)
	var day store.Day
	l := startLive(t, in.Link, func(s *store.Store, cell store.Cell) {
		var err error
		day, err = s.SaveDay(t.Context(), store.Day{Date: "2026-05-01", Name: "Training"})
		require.NoError(t, err)
		r, err := s.SaveRig(t.Context(), store.Document[rig.Rig]{Value: rig.Rig{Name: "straight"}})
		require.NoError(t, err)
		_, err = s.SetSetup(t.Context(), store.Setup{Cell: cell.ID, Day: day.ID, Rig: r.ID, Ground: "mud"})
		require.NoError(t, err)
	})
	sub := l.watcher.Subscribe()
	defer sub.Close()
	start := in.Started()

	first := await(t, sub, func(f Found) bool { return f.Provisional })
	assert.Positive(t, first.Pull.ID, "it is in the store already")
	assert.InEpsilon(t, peak, float64(first.Pull.Found.Peak), 0.005)
	assert.False(t, first.Pull.Settled)
	state := l.watcher.State(l.cell.ID)
	assert.False(t, state.Taut)
	assert.InDelta(t, 0, float64(state.Baseline), 20)

	final := await(t, sub, func(f Found) bool { return !f.Provisional })
	in.End()
	l.stop()
	assert.Equal(t, first.Pull.ID, final.Pull.ID)
	pulls, err := l.store.Pulls(t.Context(), store.PullFilter{})
	require.NoError(t, err)
	require.Len(t, pulls, 1)
	p := pulls[0]
	assert.Equal(t, final.Pull.ID, p.ID)
	assert.True(t, p.Settled)
	assert.Equal(t, day.ID, p.Day)
	assert.Equal(t, "mud", p.Ground)
	require.NotNil(t, p.Rig)
	assert.Equal(t, "straight", p.Rig.Name)
	assert.InDelta(t, float64(at)/1e3, float64(p.Found.Start-start.UnixNano())/1e9, 0.05)
	within := 0
	for _, k := range readStored(t, l.store, l.cell.ID) {
		if k.t >= p.Found.Start && k.t <= p.Found.End {
			within++
		}
	}
	assert.Equal(t, within, p.Found.Samples, "every reading was seen")
	_, open := <-l.watcher.Subscribe().C
	assert.False(t, open, "subscribed after the end")
}
