package bulletin_test

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"tautlog/ingest/bulletin"
)

type item struct{ n, missed int }

func board(backlog int) *bulletin.Board[item] {
	return bulletin.NewBoard(backlog, func(i *item) *int { return &i.missed })
}

// Whatever the order of sending and receiving: values come in order, the last
// ones always, and those that came and those said to be missed are all of them.
func TestASlowReceiverLosesTheOldestAndIsTold(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		b := board(rapid.IntRange(1, 5).Draw(t, "backlog"))
		s := b.Subscribe()
		sent, told, last := 0, 0, -1
		take := func(i item) {
			require.Greater(t, i.n, last)
			last, told = i.n, told+1+i.missed
		}
		for _, send := range rapid.SliceOf(rapid.Bool()).Draw(t, "send or receive") {
			if send {
				b.Publish(item{n: sent})
				sent++
				continue
			}
			select {
			case i := <-s.C:
				take(i)
			default:
			}
		}
		b.End()
		for i := range s.C {
			take(i)
		}
		require.Equal(t, sent, told)
		require.Equal(t, sent-1, last)
	})
}

func TestAnEndedBoardClosesWhatComesLater(t *testing.T) {
	t.Parallel()
	b := board(1)
	before := b.Subscribe()
	b.End()
	_, open := <-before.C
	assert.False(t, open)
	after := b.Subscribe()
	_, open = <-after.C
	assert.False(t, open)
	after.Close()
	before.Close()
	before.Close()
}

func TestAClosedSubscriptionGetsNothing(t *testing.T) {
	t.Parallel()
	b := board(1)
	s := b.Subscribe()
	s.Close()
	b.Publish(item{n: 1})
	_, open := <-s.C
	assert.False(t, open)
}
