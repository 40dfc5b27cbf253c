package web

import (
	"bytes"
	"compress/gzip"
	"net"
	"net/http"
	"net/netip"
	"net/url"
	"slices"
	"strings"
)

// policy lets a page load from this server alone, run no script written in the page, and stand in no frame.
const policy = "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self' data: blob:; font-src 'self'; connect-src 'self'; form-action 'self'; base-uri 'none'; frame-ancestors 'none'"

// guard stands before every route: headers, the request's Host and Origin, and the code of other machines.
func (s *Server) guard(next http.Handler) http.Handler {
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		h := w.Header()
		h.Set("Content-Security-Policy", policy)
		h.Set("X-Content-Type-Options", "nosniff")
		h.Set("Referrer-Policy", "same-origin")
		h.Set("Cross-Origin-Opener-Policy", "same-origin")
		h.Set("Cross-Origin-Resource-Policy", "same-origin")
		h.Set("Permissions-Policy", "geolocation=(), microphone=(), camera=()")
		if err := s.admit(r); err != nil {
			s.send(w, r, s.errorReply(r, err))
			return
		}
		next.ServeHTTP(w, r)
	})
}

// admit says why a request is refused.
func (s *Server) admit(r *http.Request) error {
	if !s.knownHost(r.Host) {
		return errForeignHost
	}
	// A page elsewhere may send a request here by the reader's browser, which then names its origin.
	if origin := r.Header.Get("Origin"); origin != "" {
		u, err := url.Parse(origin)
		if err != nil || u.Host == "" || !strings.EqualFold(u.Host, r.Host) {
			return errForeignOrigin
		}
	}
	reading := r.Method == http.MethodGet || r.Method == http.MethodHead
	switch site := r.Header.Get("Sec-Fetch-Site"); {
	case site == "" || site == "same-origin" || site == "none":
	case reading && r.Header.Get("Sec-Fetch-Mode") == "navigate" && r.Header.Get("Sec-Fetch-Dest") == "document": // a link followed
	default:
		return errForeignOrigin
	}
	if !reading && r.Method != http.MethodPost {
		return errMethod
	}
	if fromHere(r) {
		return nil
	}
	if s.config.Code == nil {
		return errNotHere
	}
	if open := strings.HasPrefix(r.URL.Path, "/static/") || r.URL.Path == "/join"; open {
		return nil
	}
	if c, err := r.Cookie(cookieName); err == nil && s.config.Code.Holds(c.Value) {
		return nil
	}
	return errNoCode
}

// knownHost reports whether a Host header names this server: the loopback, or a name it was given.
func (s *Server) knownHost(host string) bool {
	name := host
	if h, _, err := net.SplitHostPort(host); err == nil {
		name = h
	}
	name = strings.ToLower(strings.Trim(name, "[]"))
	if name == "localhost" {
		return true
	}
	if a, err := netip.ParseAddr(name); err == nil && a.IsLoopback() {
		return true
	}
	return slices.Contains(s.config.Hosts, name)
}

// fromHere reports whether a request comes from this machine.
func fromHere(r *http.Request) bool {
	a, err := netip.ParseAddrPort(r.RemoteAddr)
	return err == nil && a.Addr().Unmap().IsLoopback()
}

// squeeze returns a text compressed.
func squeeze(text []byte) []byte {
	var b bytes.Buffer
	z, _ := gzip.NewWriterLevel(&b, gzip.BestSpeed)
	z.Write(text) // a buffer takes everything
	z.Close()
	return b.Bytes()
}

// escapePath escapes one element of a path.
func escapePath(name string) string { return url.PathEscape(name) }
