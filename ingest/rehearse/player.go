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
		if wait := time.Until(due); wait > 0 {
			timer.Reset(wait)
			select {
			case <-ctx.Done():
				return nil
			case <-timer.C:
			}
		} else if -wait > tooLate {
			start = start.Add(-wait)
		}
		if ctx.Err() != nil {
			return nil
		}
		if err := p.send(unit, time.Duration(float64(n)/rate*float64(time.Second))); err != nil {
			return err
		}
	}
}

// send makes the next readings, which leave the cell together, at a time
// from the start.
func (p *player) send(unit int64, at time.Duration) error {
	if err := p.connection(at); err != nil {
		return err
	}
	p.buffer, p.samples = p.buffer[:0], p.samples[:0]
	for range unit {
		s, err := p.generator.Next()
		if err != nil {
			return err
		}
		p.buffer, p.samples = p.encoder.Append(p.buffer, s), append(p.samples, s)
	}
	st := &p.session.stats
	st.readings.Add(unit)
	left, damaged, dropped := p.spoiler.spoil(p.buffer)
	st.damaged.Add(int64(damaged))
	st.dropped.Add(int64(dropped))
	if p.options.Sent != nil {
		p.options.Sent(p.samples, time.Now())
	}
	taken := p.session.device.write(left)
	st.sent.Add(int64(taken))
	st.unread.Add(int64(len(left) - taken))
	return nil
}

// connection pulls and puts back the plug, and restarts the amplifier, where
// it is time to.
func (p *player) connection(at time.Duration) error {
	f := p.options.Faults
	if p.out && at >= f.Outages[p.outages-1].At+f.Outages[p.outages-1].For {
		p.out = false
		if !f.Outages[p.outages-1].KeepsPower {
			p.encoder.Restart()
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
		p.encoder.Restart()
	}
	return nil
}
