package strict

import (
	"bytes"
	"encoding/json"
	"errors"
	"io"

	"tautlog/calc/words"
)

// node is one value of the document with where it begins.
type node struct {
	at      int
	token   json.Token // scalar, or the opening json.Delim
	members []member   // of an object, in order
	items   []*node    // of an array
}

type member struct {
	key   string
	at    int
	value *node
}

// what names the type of the value for people.
func (n *node) what() string {
	switch v := n.token.(type) {
	case nil:
		return words.Say("strict.is.null")
	case string:
		return words.Say("strict.is.string")
	case bool:
		return words.Say("strict.is.bool")
	case json.Number:
		return words.Say("strict.is.number")
	case json.Delim:
		if v == '{' {
			return words.Say("strict.is.object")
		}
	}
	return words.Say("strict.is.list")
}

// maxDepth bounds the nesting; a rig needs eight levels.
const maxDepth = 64

type parser struct {
	data []byte
	dec  *json.Decoder
}

// parse reads the whole text into a tree.
func parse(data []byte) (*node, error) {
	p := parser{data, json.NewDecoder(bytes.NewReader(data))}
	p.dec.UseNumber()
	root, err := p.value(0)
	if err != nil {
		return nil, err
	}
	if _, err := p.dec.Token(); !errors.Is(err, io.EOF) {
		return nil, p.fail(p.next(), words.Say("strict.more"))
	}
	return root, nil
}

// next is where the next token begins.
func (p parser) next() int {
	at := int(p.dec.InputOffset())
	for at < len(p.data) && bytes.IndexByte([]byte(" \t\r\n,:"), p.data[at]) >= 0 {
		at++
	}
	return at
}

func (p parser) fail(at int, problem string) error {
	e := locate(p.data, at)
	e.Problem, e.Reason = problem, ErrSyntax
	return e
}

func (p parser) token() (json.Token, int, error) {
	at := p.next()
	t, err := p.dec.Token()
	if err == nil {
		return t, at, nil
	}
	if errors.Is(err, io.EOF) || errors.Is(err, io.ErrUnexpectedEOF) {
		return nil, at, p.fail(len(p.data), words.Say("strict.middle"))
	}
	var syntax *json.SyntaxError
	if errors.As(err, &syntax) {
		at = max(at, int(syntax.Offset)-1)
	}
	return nil, at, p.fail(at, words.Say("strict.json", err))
}

func (p parser) value(depth int) (*node, error) {
	t, at, err := p.token()
	if err != nil {
		return nil, err
	}
	n := &node{at: at, token: t}
	open, isDelim := t.(json.Delim)
	if !isDelim {
		return n, nil
	}
	if depth >= maxDepth {
		return nil, p.fail(at, words.Say("strict.deep"))
	}
	for p.dec.More() {
		if open == '{' {
			err = p.member(n, depth)
		} else {
			err = p.item(n, depth)
		}
		if err != nil {
			return nil, err
		}
	}
	_, _, err = p.token() // the closing bracket
	return n, err
}

func (p parser) member(n *node, depth int) error {
	t, at, err := p.token()
	if err != nil {
		return err
	}
	key, ok := t.(string)
	if !ok {
		return p.fail(at, words.Say("strict.key"))
	}
	v, err := p.value(depth + 1)
	n.members = append(n.members, member{key, at, v})
	return err
}

func (p parser) item(n *node, depth int) error {
	v, err := p.value(depth + 1)
	n.items = append(n.items, v)
	return err
}
