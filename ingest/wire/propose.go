package wire

import (
	"bytes"
	"encoding/binary"
	"math"
	"slices"

	"tautlog/calc/words"
)

// Proposal is a way in which a sample of bytes could be read, with reasons
// that a person can judge.
type Proposal struct {
	Config  Config   `json:"config"`
	Stats   Stats    `json:"stats"` // of the sample, read that way
	Reasons []string `json:"reasons"`
	// TickStep is how much the tick field rises from line to line; 0 where
	// there is none. Only the rate of the lines tells its unit: see WithRate.
	TickStep float64 `json:"tick_step,omitempty"`
}

// maxSample is as much of a sample as is looked at.
const maxSample = 1 << 18

// maxProposals is how many ways of reading are worth a person's time.
const maxProposals = 3

// Propose looks at raw bytes and proposes how to read them, the likeliest
// way first; nil when they are neither frames nor lines of text with a number
// in them, as at a wrong baud rate. A proposal is a guess for a person to
// confirm: no decoder ever starts from one by itself.
func Propose(sample []byte) []Proposal {
	sample = sample[:min(len(sample), maxSample)]
	if p, ok := proposePacked(sample); ok {
		return []Proposal{p}
	}
	text, parity := plain(sample)
	if !readable(text) {
		return nil
	}
	base, why := notationOf(text)
	base.Parity = parity
	if parity != "" {
		why = append(why, parityReason(parity))
	}
	of := func(c TextConfig) []Proposal {
		t := tabulate(text, c)
		t.raw, t.why = sample, why
		if c.DecimalComma && !base.DecimalComma && !t.decimalComma() {
			return nil
		}
		return t.proposals()
	}
	points := of(base)
	var commas []Proposal
	if comma := base; comma.Thousands == "" && !comma.DecimalComma {
		comma.DecimalComma = true
		commas = of(comma)
	}
	all := append(commas, points...)
	if counters(points) > counters(commas) {
		// The digits before the comma are a number of their own.
		all = append(points, commas...)
	}
	return all[:min(len(all), maxProposals)]
}

// ProposeAnswers proposes as Propose does how to read the answers of an
// instrument that is asked, and sees whether it repeats what it is asked with.
func ProposeAnswers(sample []byte, ask Ask) []Proposal {
	sent, err := Unescape(ask.Poll)
	if err != nil || len(trimBlanks(sent)) == 0 {
		all := Propose(sample)
		for i := range all {
			all[i].Config.Ask = ask
		}
		return all
	}
	sample = sample[:min(len(sample), maxSample)]
	ask.Echo = true
	e := ask.echo()
	var answers []byte
	echoed, lines := 0, 0
	for _, l := range wholeLines(sample) {
		lines++
		rest, ok := e.cut(l)
		if ok && len(rest) < len(l) {
			echoed++
		}
		if rest != nil {
			answers = append(append(answers, '\n'), rest...)
		}
	}
	if ask.Echo = echoed*3 >= lines && echoed > 0; !ask.Echo {
		answers = sample
	}
	all := Propose(append(answers, '\n'))
	for i, p := range all {
		all[i].Config.Ask = ask
		if ask.Echo {
			all[i].Reasons = append(slices.Clone(p.Reasons), words.Say("wire.why.echo"))
		}
		all[i].measure(sample)
	}
	return all
}

// Try reads a sample in a way that is given, as a proposal; false where that
// gives nothing.
func Try(c Config, sample []byte) (Proposal, bool) {
	p := Proposal{Config: c, Reasons: []string{words.Say("wire.why.given")}}
	return p, p.measure(sample[:min(len(sample), maxSample)])
}

// counters is how many fields of the first proposal count lines or time.
func counters(all []Proposal) (n int) {
	if len(all) > 0 {
		n = all[0].Config.Text.used() - 1
	}
	return n
}

func proposePacked(sample []byte) (Proposal, bool) {
	c := Config{Format: Packed}
	d := &packedDecoder{}
	readings := d.Decode(nil, sample)
	s := d.Stats()
	if s.Units == 0 {
		return Proposal{}, false
	}
	p := Proposal{Config: c, Stats: s, Reasons: []string{
		words.Say("wire.why.frames", words.Count("wire.frames", int(s.Units)), words.Count("wire.readings", int(s.Readings)), s.Rejected),
	}}
	if us := frameInterval(sample); us > 0 {
		p.Reasons = append(p.Reasons, words.Say("wire.why.interval", us, 1e6/float64(us)))
	}
	if len(readings) > 0 {
		p.Reasons = append(p.Reasons, words.Count("wire.why.latest", int(readings[len(readings)-1].Raw)))
	}
	return p, true
}

// frameInterval is the interval of the last sound frame of a sample, 0 where
// there is none.
func frameInterval(sample []byte) (us uint16) {
	for chunk := range bytes.SplitSeq(sample, []byte{0}) {
		if len(chunk) > maxStuffed {
			continue
		}
		if f, ok := unstuff(nil, chunk); ok && sound(f) {
			us = binary.LittleEndian.Uint16(f[7:])
		}
	}
	return us
}

// readable reports whether a sample is mostly characters that a line of text
// has.
func readable(sample []byte) bool {
	strange := 0
	for _, c := range sample {
		if strangeInText(c) {
			strange++
		}
	}
	return len(sample) > 0 && strange*5 < len(sample)
}

// strangeInText reports whether a line of text hardly ever has a byte.
func strangeInText(c byte) bool {
	return c < ' ' && c != '\r' && c != '\n' && c != '\t' && c != startOfText && c != endOfText || c >= 0x7f
}

// WithRate settles the unit of the tick from the lines per second at which
// the sample arrived, and says so. It changes nothing where there is no tick
// or no rate.
func (p Proposal) WithRate(linesPerSecond float64) Proposal {
	if p.TickStep <= 0 || !(linesPerSecond > 0) {
		return p
	}
	us := 1e6 / linesPerSecond / p.TickStep
	scales := []struct {
		us   float64
		name string
	}{{1, words.Say("wire.time.us")}, {1000, words.Say("wire.time.ms")}, {1e6, words.Say("wire.time.s")}}
	best := scales[0]
	for _, s := range scales[1:] {
		if math.Abs(math.Log(us/s.us)) < math.Abs(math.Log(us/best.us)) {
			best = s
		}
	}
	p.Reasons = slices.Clone(p.Reasons)
	if ratio := us / best.us; ratio < 0.5 || ratio > 2 {
		p.Config.Text.TickColumn, p.Config.Text.TickScale, p.TickStep = 0, 0, 0
		p.Reasons = append(p.Reasons, words.Say("wire.why.notime"))
		return p
	}
	p.Config.Text.TickScale = best.us
	p.Reasons = append(p.Reasons, words.Say("wire.why.time", linesPerSecond, best.name))
	return p
}
