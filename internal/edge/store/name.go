package store

import (
	"bytes"
	"fmt"
	"strings"
	"unicode"
	"unicode/utf8"

	"noonmark/internal/base/problem"
)

// The limits of what a store takes.
const (
	LargestText   = 1 << 20  // of a build, bytes
	LargestPhoto  = 25 << 20 // bytes
	LargestRecord = 64 << 20 // bytes
	LargestSide   = 30000    // of a photograph, pixels
	LargestArea   = 64 << 20 // of a photograph, pixels
	longestName   = 100      // letters
	longestNote   = 2000     // letters
)

// checkName reports what is wrong with a name. Letters of any language, digits, spaces and a few signs:
// nothing that a path, a page or the form store:NAME@REV could take for its own.
func checkName(ps *problem.List, path, name string) {
	bad := func(r rune) bool {
		return !unicode.IsLetter(r) && !unicode.IsMark(r) && !unicode.IsDigit(r) && !strings.ContainsRune(" -_.+()',", r)
	}
	switch n := utf8.RuneCountInString(name); {
	case name == "":
		ps.Addf(path, "a name")
	case !utf8.ValidString(name):
		ps.Addf(path, "a name in UTF-8")
	case n > longestName:
		ps.Add(problem.Problem{Path: path, Want: fmt.Sprintf("a name of at most %d letters; it has %d", longestName, n)})
	case strings.IndexFunc(name, bad) >= 0:
		ps.Add(problem.Problem{Path: path, Found: name, Want: "a name of letters, digits, spaces and - _ . + ( ) ' , only"})
	case strings.TrimSpace(name) != name || name[0] == '.' || name[0] == '-':
		ps.Add(problem.Problem{Path: path, Found: name, Want: "a name that begins with a letter or digit and ends without a space"})
	}
}

// checkTag reports what is wrong with a tag: a name that no revision's number could be.
func checkTag(ps *problem.List, path, tag string) {
	checkName(ps, path, tag)
	if tag != "" && strings.Trim(tag, "0123456789") == "" {
		ps.Add(problem.Problem{Path: path, Found: tag, Want: "a tag with a letter in it: a bare number is a revision"})
	}
}

// checkNote reports what is wrong with a note.
func checkNote(ps *problem.List, path, note string) {
	control := func(r rune) bool { return unicode.IsControl(r) && r != '\n' && r != '\r' && r != '\t' }
	switch n := utf8.RuneCountInString(note); {
	case !utf8.ValidString(note):
		ps.Addf(path, "a note in UTF-8")
	case n > longestNote:
		ps.Addf(path, "a note of at most %d letters; it has %d", longestNote, n)
	case strings.IndexFunc(note, control) >= 0:
		ps.Addf(path, "a note without control characters")
	}
}

// checkText reports what is wrong with a build's text as a text. What it says is the build file's matter,
// so that a draft with faults can be kept.
func checkText(ps *problem.List, text []byte) {
	switch {
	case len(bytes.TrimSpace(text)) == 0:
		ps.Addf("text", "a build file; it is empty")
	case len(text) > LargestText:
		ps.Addf("text", "a build file of at most %d kB; it has %d kB", LargestText>>10, (len(text)+1023)>>10)
	case !utf8.Valid(text) || bytes.IndexByte(text, 0) >= 0:
		ps.Addf("text", "a build file in UTF-8")
	}
}

// fold returns the form of a name in which two that differ in case only are one.
func fold(name string) string { return strings.ToLower(strings.ToUpper(name)) }
