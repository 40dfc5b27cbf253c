package weather

import (
	"bufio"
	"bytes"
	"compress/gzip"
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"strings"
	"unicode/utf8"

	"noonmark/internal/base/problem"
)

const (
	mostBytes    = 100 << 20 // of a file, packed or unpacked
	mostProblems = 50        // listed of one file
	mostHeader   = 200       // lines before the first row
	lineBuffer   = 64 << 10  // longest line
)

// Read reads the weather file at path, EPW or TMY3 by its first lines. The error of a file that does
// not serve is a *problem.Error with every problem.
func Read(path string) (*Series, error) {
	f, err := os.Open(path)
	if err != nil {
		return nil, err
	}
	defer f.Close()
	return read(f, filepath.Base(path), "")
}

// ReadEPW reads an EPW file. name stands in messages. See Read.
func ReadEPW(r io.Reader, name string) (*Series, error) { return read(r, name, "EPW") }

// ReadTMY3 reads a TMY3 CSV file. name stands in messages. See Read.
func ReadTMY3(r io.Reader, name string) (*Series, error) { return read(r, name, "TMY3") }

// read reads a file of the given format, or of the one its first lines show.
func read(r io.Reader, name, format string) (*Series, error) {
	l := &lines{file: name}
	if err := l.open(r); err != nil {
		return nil, err
	}
	if format == "" {
		format = l.format()
	}
	var s *Series
	switch format {
	case "EPW":
		s = l.epw()
	case "TMY3":
		s = l.tmy3()
	default:
		l.fatal(1, "", "an EPW file, whose first line begins with LOCATION, or a TMY3 CSV file, whose second line names its columns")
	}
	if l.err != nil {
		return nil, l.err
	}
	if l.bad {
		return nil, l.problems.Err()
	}
	s.Format = format
	s.Problems = l.problems
	if l.more > 0 {
		s.Notes = append(s.Notes, fmt.Sprintf("%d more faulty values or rows than are listed", l.more))
	}
	return s, nil
}

// lines gives the lines of a file and gathers its problems.
type lines struct {
	file     string
	r        *bufio.Reader
	limit    *io.LimitedReader
	number   int // of the line last read
	fields   [][]byte
	problems problem.List
	more     int   // problems beyond mostProblems
	bad      bool  // a fatal one is among them
	err      error // of reading
}

// open sets l to read r, unpacked and without a byte-order mark.
func (l *lines) open(r io.Reader) error {
	raw := bufio.NewReaderSize(&io.LimitedReader{R: r, N: mostBytes + 1}, 4096)
	r = raw
	if head, _ := raw.Peek(2); len(head) == 2 && head[0] == 0x1f && head[1] == 0x8b {
		z, err := gzip.NewReader(raw)
		if err != nil {
			return fmt.Errorf("%s: %w", l.file, err)
		}
		r = z
	}
	l.limit = &io.LimitedReader{R: r, N: mostBytes + 1}
	l.r = bufio.NewReaderSize(l.limit, lineBuffer)
	head, err := l.r.Peek(3)
	if err != nil && len(head) == 0 && !errors.Is(err, io.EOF) {
		return fmt.Errorf("%s: %w", l.file, err)
	}
	switch {
	case bytes.HasPrefix(head, []byte("\xef\xbb\xbf")):
		_, err = l.r.Discard(3)
		return err
	case bytes.HasPrefix(head, []byte("\xff\xfe")), bytes.HasPrefix(head, []byte("\xfe\xff")):
		l.fatal(1, "", "text in UTF-8; this is UTF-16")
		return l.problems.Err()
	}
	return nil
}

// format tells the format from what comes first.
func (l *lines) format() string {
	head, _ := l.r.Peek(16 << 10)
	head = bytes.ToUpper(bytes.TrimLeft(head, " \t\r\n\""))
	first, rest, _ := bytes.Cut(head, []byte("\n"))
	second, _, _ := bytes.Cut(rest, []byte("\n"))
	switch {
	case bytes.HasPrefix(first, []byte("LOCATION")):
		return "EPW"
	case bytes.Contains(second, []byte("GHI")) || bytes.Contains(second, []byte("DATE")):
		return "TMY3"
	}
	return ""
}

// next returns the fields of the next line that is not blank, valid until the call after, or nil at
// the end. Quotes are taken off, fields trimmed.
func (l *lines) next() [][]byte {
	for l.err == nil {
		line, err := l.r.ReadSlice('\n')
		if len(line) > 0 || err == nil {
			l.number++
		}
		if errors.Is(err, bufio.ErrBufferFull) {
			for errors.Is(err, bufio.ErrBufferFull) {
				_, err = l.r.ReadSlice('\n')
			}
			l.fault("", fmt.Sprintf("a line of at most %d kB", lineBuffer>>10))
			line = nil
		}
		if l.limit.N <= 0 {
			l.err = fmt.Errorf("%s: over %d MB", l.file, mostBytes>>20)
			return nil
		}
		if err != nil && !errors.Is(err, io.EOF) {
			l.err = fmt.Errorf("%s: line %d: %w", l.file, l.number, err)
			return nil
		}
		if line = bytes.TrimSpace(line); len(line) > 0 {
			l.split(line)
			return l.fields
		}
		if err != nil {
			return nil
		}
	}
	return nil
}

// split cuts a line at its commas, those in quotes left alone.
func (l *lines) split(line []byte) {
	l.fields = l.fields[:0]
	start, quoted := 0, false
	for i := 0; i <= len(line); i++ {
		switch {
		case i == len(line) || line[i] == ',' && !quoted:
			l.fields = append(l.fields, bytes.TrimSpace(bytes.Trim(bytes.TrimSpace(line[start:i]), `"`)))
			start = i + 1
		case line[i] == '"':
			quoted = !quoted
		}
	}
}

// fault notes a problem of the current line that is got over.
func (l *lines) fault(found, want string) {
	if l.problems.Len() >= mostProblems {
		l.more++
		return
	}
	l.problems.Add(problem.Problem{File: l.file, Line: l.number, Found: found, Want: want})
}

// fatal notes a problem that makes the file useless; line 0 is the whole file.
func (l *lines) fatal(line int, found, want string) {
	l.bad = true
	l.problems.Add(problem.Problem{File: l.file, Line: line, Found: found, Want: want})
}

// clip returns a field as it is shown in a message: valid text, not long.
func clip(b []byte) string {
	s := text(b)
	if len(s) > 40 {
		s = strings.ToValidUTF8(s[:40], "") + "…"
	}
	return s
}

// text returns b as text; what is not UTF-8 is read as Latin-1.
func text(b []byte) string {
	if utf8.Valid(b) {
		return string(b)
	}
	r := make([]rune, len(b))
	for i, c := range b {
		r[i] = rune(c)
	}
	return string(r)
}
