package wire

import (
	"bytes"
	"math"
	"strconv"
	"time"

	"tautlog/calc/words"
)

// Ask says what is sent to an instrument that answers only when it is asked,
// or that has to be started. Strings are written as Unescape reads them. For
// Modbus the request follows from its registers, and Poll stays empty.
type Ask struct {
	Start   string  `json:"start,omitempty"`     // sent when the line was opened, and again while nothing comes
	Poll    string  `json:"poll,omitempty"`      // asks for one reading
	Echo    bool    `json:"echo,omitempty"`      // the instrument repeats Poll before its answer
	Every   float64 `json:"every_ms,omitzero"`   // from one request to the next, in ms; as fast as it answers when 0
	Timeout float64 `json:"timeout_ms,omitzero"` // how long an answer may take, in ms; 500 when 0
}

const (
	defaultTimeout = 500 * time.Millisecond
	maxAskString   = 64
)

// Period is the time from one request to the next, 0 for as fast as answers
// come.
func (a Ask) Period() time.Duration { return time.Duration(a.Every * float64(time.Millisecond)) }

// Patience is how long an answer may take.
func (a Ask) Patience() time.Duration {
	if a.Timeout == 0 {
		return defaultTimeout
	}
	return time.Duration(a.Timeout * float64(time.Millisecond))
}

// Start is what is to be sent when the line was opened; nil for nothing.
func (c Config) Start() []byte { return mustUnescape(c.Ask.Start) }

// Request is what asks for one reading; nil where the instrument sends by
// itself.
func (c Config) Request() []byte {
	if c.Format == Modbus {
		return c.Modbus.request(nil)
	}
	return mustUnescape(c.Ask.Poll)
}

func mustUnescape(s string) []byte {
	b, err := Unescape(s)
	if err != nil {
		panic("wire: a configuration that was not validated: " + err.Error())
	}
	return b
}

func (c Config) validateAsk() error {
	a := c.Ask
	for field, s := range map[string]string{"ask.start": a.Start, "ask.poll": a.Poll} {
		if b, err := Unescape(s); err != nil {
			return refuse(field, s, err.Error())
		} else if len(b) > maxAskString {
			return refuse(field, s, words.Say("wire.hint.ask.long"))
		}
	}
	switch {
	case a.Poll != "" && c.Format != Text:
		return refuse("ask.poll", a.Poll, words.Say("wire.hint.ask.poll"))
	case a.Echo && (c.Format != Text || a.Poll == ""):
		return refuse("ask.echo", a.Echo, words.Say("wire.hint.ask.echo"))
	case !(a.Every >= 0 && a.Every <= 3600e3) || math.IsNaN(a.Every):
		return refuse("ask.every_ms", a.Every, words.Say("wire.hint.ask.every_ms"))
	case !(a.Timeout >= 0 && a.Timeout <= 60e3) || math.IsNaN(a.Timeout):
		return refuse("ask.timeout_ms", a.Timeout, words.Say("wire.hint.ask.timeout_ms"))
	}
	return nil
}

var errEscape error = words.Kind("wire.escape")

// Unescape reads a string as people write what is to be sent: \r, \n, \t, \0,
// \e, \\ and \x with two hexadecimal digits stand for the byte, everything
// else for itself.
func Unescape(s string) (b []byte, err error) {
	simple := map[byte]byte{'r': '\r', 'n': '\n', 't': '\t', '0': 0, 'e': 0x1b, '\\': '\\'}
	for i := 0; i < len(s); i++ {
		if s[i] != '\\' {
			b = append(b, s[i])
			continue
		}
		i++
		if i == len(s) {
			return nil, words.Error("wire.escape.lone", errEscape)
		}
		if c, ok := simple[s[i]]; ok {
			b = append(b, c)
			continue
		}
		if s[i] != 'x' || i+2 >= len(s) {
			return nil, words.Error("wire.escape.at", s[i:i+1], i, errEscape)
		}
		v, err := strconv.ParseUint(s[i+1:i+3], 16, 8)
		if err != nil {
			return nil, words.Error("wire.escape.at", s[i:i+3], i, errEscape)
		}
		b = append(b, byte(v))
		i += 2
	}
	return b, nil
}

// echo is what an instrument repeats of a poll.
type echo struct {
	text []byte // without blanks around; empty where it repeats nothing
	own  bool   // it is a line of its own, since the poll ends one
}

func (a Ask) echo() echo {
	if !a.Echo {
		return echo{}
	}
	sent := mustUnescape(a.Poll)
	ends := len(sent) > 0 && bytes.IndexByte([]byte{'\r', '\n', endOfText}, sent[len(sent)-1]) >= 0
	return echo{text: trimBlanks(sent), own: ends}
}

func trimBlanks(b []byte) []byte {
	b = trimLeft(b)
	for len(b) > 0 && isBlank(b[len(b)-1]) {
		b = b[:len(b)-1]
	}
	return b
}

// is reports whether a line is the echo and nothing else.
func (e echo) is(line []byte) bool {
	return len(e.text) > 0 && bytes.Equal(trimBlanks(line), e.text)
}

// cut takes the echo off a line: all of it where the echo is a line of its
// own, else its beginning, which must be there.
func (e echo) cut(line []byte) (rest []byte, ok bool) {
	if len(e.text) == 0 {
		return line, true
	}
	if e.is(line) {
		return nil, true
	}
	if e.own {
		return line, true
	}
	text := trimLeft(line)
	rest, ok = bytes.CutPrefix(text, e.text)
	return rest, ok || len(text) == 0
}
