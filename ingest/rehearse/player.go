package rehearse

import (
	"context"
	"time"
)

// player is a session going on.
type player struct {
	session   *Session
	options   Options
	generator *Generator
	encoder   *Encoder
	listener  *listener
	spoiler   *spoiler
	out       bool // the plug is out
	outages   int  // begun so far
	restarts  int
	buffer    []byte
	samples   []Sample
}

// tooLate is how far behind the clock a player may be and still catch up. If
// the computer slept longer, the cell has slept as well.
const tooLate = 5 * time.Second

// play sends every reading when its time has come, by the monotonic clock
// and counted from the start, so that no error adds up.
func (p *player) play(ctx context.Context) error {
	unit := int64(p.options.Cell.Unit())
	rate := p.options.Cell.Rate * (1 + p.options.Cell.ClockPPM/1e6)
	start := time.Now()
	timer := time.NewTimer(0)
	defer timer.Stop()
	for n := int64(0); ; n += unit {
		// The frame goes out when its last reading was taken.
		due := start.Add(time.Duration(float64(n+unit-1) / rate * float64(time.Second)))
		if late := time.Since(due); late > tooLate {
			start = start.Add(late)
		}
		if !p.await(ctx, timer, due) {
			return nil
		}
		if err := p.send(ctx, unit, time.Duration(float64(n)/rate*float64(time.Second))); err != nil {
			return err
		}
	}
}

// lookEvery is how often an amplifier that can be asked looks at its line.
const lookEvery = 2 * time.Millisecond

// await waits until a moment and answers meanwhile; false where ctx has ended.
func (p *player) await(ctx context.Context, timer *time.Timer, due time.Time) bool {
	for wait := time.Until(due); wait > 0; wait = time.Until(due) {
		if p.listener.asked() {
			p.answer(ctx)
			wait = min(wait, lookEvery)
		}
		timer.Reset(wait)
		select {
		case <-ctx.Done():
			return false
		case <-timer.C:
		}
	}
	return ctx.Err() == nil
}

// send makes the next readings, which leave the cell together unless it waits
// to be asked, at a time from the start.
func (p *player) send(ctx context.Context, unit int64, at time.Duration) error {
	if err := p.connection(at); err != nil {
		return err
	}
	p.buffer, p.samples = p.buffer[:0], p.samples[:0]
	for range unit {
		s, err := p.generator.Next()
		if err != nil {
			return err
		}
		p.samples = append(p.samples, s)
		if p.listener.asked() {
			p.listener.take(s)
		} else {
			p.buffer = p.encoder.Append(p.buffer, s)
		}
	}
	p.session.stats.readings.Add(unit)
	if p.listener.asked() {
		p.answer(ctx)
	} else if p.listener.hear(p.session.device.read()); p.listener.started {
		p.put(ctx, p.buffer, p.samples)
	}
	return nil
}

// answer answers what was asked since the last look.
func (p *player) answer(ctx context.Context) {
	p.listener.hear(p.session.device.read())
	var answered []Sample
	if p.buffer, answered = p.listener.answers(p.buffer[:0]); len(p.buffer) > 0 {
		p.put(ctx, p.buffer, answered)
	}
}

// put has bytes with these readings go out on the line.
func (p *player) put(ctx context.Context, b []byte, readings []Sample) {
	st := &p.session.stats
	left, damaged, dropped := p.spoiler.spoil(b)
	st.damaged.Add(int64(damaged))
	st.dropped.Add(int64(dropped))
	if p.options.Sent != nil && len(readings) > 0 {
		p.options.Sent(readings, time.Now())
	}
	taken := p.session.device.write(left)
	for p.options.Holds && taken < len(left) && ctx.Err() == nil {
		time.Sleep(lookEvery) // until there is room again
		taken += p.session.device.write(left[taken:])
	}
	st.sent.Add(int64(taken))
	st.unread.Add(int64(len(left) - taken))
}

// connection pulls and puts back the plug, and restarts the amplifier, where
// it is time to.
func (p *player) connection(at time.Duration) error {
	f := p.options.Faults
	if p.out && at >= f.Outages[p.outages-1].At+f.Outages[p.outages-1].For {
		p.out = false
		if !f.Outages[p.outages-1].KeepsPower {
			p.restart()
		}
		if err := p.session.device.plug(); err != nil {
			return err
		}
	}
	if !p.out && p.outages < len(f.Outages) && at >= f.Outages[p.outages].At {
		p.out = true
		p.outages++
		p.session.device.unplug()
	}
	for ; p.restarts < len(f.Restarts) && at >= f.Restarts[p.restarts]; p.restarts++ {
		p.restart()
	}
	return nil
}

// restart is a new power-up of the amplifier.
func (p *player) restart() {
	p.encoder.Restart()
	p.listener = newListener(p.options.Cell)
}
