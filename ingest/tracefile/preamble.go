package tracefile

import (
	"bytes"
)

// readPreamble finds the header in the beginning of the text, passing over
// blank lines and comments, and learns the layout of the lines below. It
// gives what stands behind the header and adds its lines to the count.
func readPreamble(text []byte, whole bool, lines *int, o Options) (layout, []byte, error) {
	if err := refuseForeign(text); err != nil {
		return layout{}, nil, err
	}
	text = bytes.TrimPrefix(text, []byte("\xef\xbb\xbf"))
	var comments []string
	for len(text) > 0 {
		line, rest, ended := bytes.Cut(text, []byte{'\n'})
		if !ended && !whole {
			return layout{}, nil, ErrLongLine
		}
		*lines++
		line = bytes.TrimSuffix(line, []byte{'\r'})
		if err := refuseLine(line, *lines); err != nil {
			return layout{}, nil, err
		}
		text = rest
		if isBlank(line) {
			continue
		}
		if line[0] == '#' {
			comments = append(comments, string(bytes.TrimSpace(line[1:])))
			continue
		}
		l, err := readHeader(line, *lines, o)
		if err != nil {
			return layout{}, nil, err
		}
		l.comments, l.dates = comments, firstIsDate(rest, l)
		return l, rest, nil
	}
	return layout{}, nil, fault(ErrEmpty, max(*lines, 1), "give a CSV file with a header and readings", "the file is empty")
}

// refuseForeign knows some files that are often taken for CSV.
func refuseForeign(text []byte) error {
	switch {
	case bytes.HasPrefix(text, []byte("\xff\xfe")), bytes.HasPrefix(text, []byte("\xfe\xff")):
		return fault(ErrBinary, 1, "save it as UTF-8", "the file is in UTF-16")
	case bytes.HasPrefix(text, []byte("PK\x03\x04")):
		return fault(ErrBinary, 1, "unpack it, or save the sheet as CSV", "the file is a zip archive or a spreadsheet")
	}
	return nil
}

func refuseLine(line []byte, n int) error {
	switch {
	case !isText(line):
		return fault(ErrBinary, n, "give a CSV file of plain text", "there are bytes that are no text")
	case bytes.IndexByte(line, '\r') >= 0:
		return fault(ErrBinary, n, "save it with line feeds", "the lines end in carriage returns alone")
	}
	return nil
}

// firstIsDate looks at the first reading.
func firstIsDate(text []byte, l layout) bool {
	for len(text) > 0 {
		line, rest, _ := bytes.Cut(text, []byte{'\n'})
		text = rest
		if line = bytes.TrimSuffix(line, []byte{'\r'}); isBlank(line) {
			continue
		}
		fields, _ := split(nil, line, l.separator)
		return l.time < len(fields) && looksLikeDate(fields[l.time])
	}
	return false
}
