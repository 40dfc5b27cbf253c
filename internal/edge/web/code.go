package web

import (
	"crypto/rand"
	"crypto/subtle"
	"encoding/base32"
	"errors"
	"strings"
	"sync"
)

// cookieName is the mark of a device that gave the code.
const cookieName = "noonmark"

// tries is how many wrong codes are taken, from all devices together, before a new one must be made.
const tries = 5

// mostDevices is how many devices one run of the program lets in.
const mostDevices = 20

// errTries says that too many wrong codes were given.
var errTries = errors.New("too many wrong codes; make a new one on the computer, on its page for phones")

// Code lets other machines in: each once, by a code that is then replaced.
type Code struct {
	mu     sync.Mutex
	code   string
	left   int
	tokens []string
}

// NewCode returns a code of the system's own randomness.
func NewCode() *Code {
	c := &Code{}
	c.Renew()
	return c
}

// Renew makes a new code with all its tries, and returns it. Devices that are in stay in.
func (c *Code) Renew() string {
	c.mu.Lock()
	defer c.mu.Unlock()
	return c.renew()
}

func (c *Code) renew() string {
	var b [5]byte // 40 bits; five tries of them
	rand.Read(b[:])
	c.code, c.left = base32.StdEncoding.EncodeToString(b[:]), tries
	return c.code
}

// Now returns the code in force; empty when its tries are used up.
func (c *Code) Now() string {
	c.mu.Lock()
	defer c.mu.Unlock()
	if c.left <= 0 {
		return ""
	}
	return c.code
}

// Give takes a code as typed and returns the mark of the device that gave the right one. Every answer takes
// as long, however much of the code was right.
func (c *Code) Give(typed string) (token string, err error) {
	c.mu.Lock()
	defer c.mu.Unlock()
	if c.left <= 0 || len(c.tokens) >= mostDevices {
		return "", errTries
	}
	typed = strings.ToUpper(strings.Map(func(r rune) rune {
		if r == ' ' || r == '-' {
			return -1
		}
		return r
	}, typed))
	if subtle.ConstantTimeCompare([]byte(typed), []byte(c.code)) != 1 {
		c.left--
		return "", errNoCode
	}
	token = rand.Text()
	c.tokens = append(c.tokens, token)
	c.renew()
	return token, nil
}

// Holds reports whether a mark is one that was given out.
func (c *Code) Holds(token string) bool {
	c.mu.Lock()
	defer c.mu.Unlock()
	found := 0
	for _, t := range c.tokens {
		found |= subtle.ConstantTimeCompare([]byte(t), []byte(token))
	}
	return found == 1
}
