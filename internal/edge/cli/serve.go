package cli

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"io"
	"net"
	"net/http"
	"os"
	"os/exec"
	"path/filepath"
	"runtime"
	"time"

	"github.com/spf13/cobra"

	"noonmark/internal/edge/store"
	"noonmark/internal/edge/web"
	"noonmark/internal/sheet/sheet"
)

func serveCommand(s *Streams) *cobra.Command {
	var listen string
	var open, phone bool
	c := &cobra.Command{
		Use:   "serve",
		Short: "the sheets in a browser: look, drag, type, and see at once what it does",
		Long: `Serves the builds of the data file as working drawing sheets, to this machine alone. Every change is
a new revision. With --phone it also listens on the local network, for devices that give the code it
prints; what goes over that network is not encrypted.

  noonmark serve --open
  noonmark serve --phone`,
		Args: exactly(0, "no arguments"),
		RunE: func(cmd *cobra.Command, _ []string) error {
			return serve(cmd.Context(), s, listen, open, phone)
		},
	}
	c.Flags().StringVar(&listen, "listen", "", `where to listen, HOST:PORT (default 127.0.0.1:8417; with --phone 0.0.0.0:8417)`)
	c.Flags().BoolVar(&open, "open", false, "open the browser")
	c.Flags().BoolVar(&phone, "phone", false, "let phones of the local network in, by a code")
	return c
}

// serve answers until ctx ends.
func serve(ctx context.Context, s *Streams, listen string, open, phone bool) error {
	if listen == "" {
		listen = "127.0.0.1:8417"
		if phone {
			listen = "0.0.0.0:8417"
		}
	}
	host, _, err := net.SplitHostPort(listen)
	if err != nil {
		return misuse("--listen %q: wanted HOST:PORT, such as 127.0.0.1:8417", listen)
	}
	if ip := net.ParseIP(host); !phone && host != "localhost" && (ip == nil || !ip.IsLoopback()) {
		return misuse("--listen %s is open to other machines: add --phone, which asks them for a code", listen)
	}
	file, err := s.storeFile()
	if err != nil {
		return err
	}
	if err := os.MkdirAll(filepath.Dir(file), 0o700); err != nil {
		return misuse("%v", err)
	}
	st, err := store.Open(ctx, file, store.Options{Clock: s.Clock})
	if err != nil {
		return storeError(err)
	}
	defer st.Close()
	l, err := net.Listen("tcp", listen)
	if err != nil {
		return misuse("%v; --listen names another place", err)
	}
	port := l.Addr().(*net.TCPAddr).Port
	config := web.Config{Shelf: st, Clock: s.Clock, Version: version, Climate: climateCredit,
		Log: func(format string, args ...any) { fmt.Fprintf(s.Err, format+"\n", args...) },
		Command: func(ctx context.Context, args []string) (out, errs []byte, code int) {
			var o, e bytes.Buffer
			code = Run(ctx, append([]string{"--data", file}, args...), Streams{In: bytes.NewReader(nil), Out: &o, Err: &e, Clock: s.Clock, served: true})
			return o.Bytes(), e.Bytes(), code
		},
		Sheets: func(ctx context.Context, args []string) (list []sheet.Sheet, errs []byte, code int) {
			var e bytes.Buffer
			code = Run(ctx, append([]string{"--data", file}, args...), Streams{In: bytes.NewReader(nil), Out: io.Discard, Err: &e, Clock: s.Clock, served: true, took: func(x []sheet.Sheet) { list = x }})
			return list, e.Bytes(), code
		}}
	if phone {
		config.Code, config.Hosts = web.NewCode(), addresses(host)
	}
	address := fmt.Sprintf("http://127.0.0.1:%d/", port)
	if ip := net.ParseIP(host); ip != nil && ip.IsLoopback() && ip.To4() == nil {
		address = fmt.Sprintf("http://[%s]:%d/", ip, port)
	}
	fmt.Fprintf(s.Out, "The sheets are at %s\nData file: %s. Stop with Ctrl-C.\n", address, file)
	if phone {
		invite(s, config, port)
	}
	if open {
		if err := browse(address); err != nil {
			fmt.Fprintf(s.Err, "no browser opened (%v): open %s\n", err, address)
		}
	}
	server := &http.Server{Handler: web.New(config), ReadHeaderTimeout: 10 * time.Second, ReadTimeout: 2 * time.Minute, IdleTimeout: 2 * time.Minute, MaxHeaderBytes: 1 << 16}
	done := make(chan error, 1)
	go func() { done <- server.Serve(l) }()
	select {
	case err = <-done:
	case <-ctx.Done():
		stop, cancel := context.WithTimeout(context.WithoutCancel(ctx), 3*time.Second)
		defer cancel()
		err = server.Shutdown(stop)
		if errors.Is(err, context.DeadlineExceeded) {
			err = server.Close()
		}
	}
	if err != nil && !errors.Is(err, http.ErrServerClosed) {
		return err
	}
	return nil
}

// invite prints where a phone finds the sheets, and the code.
func invite(s *Streams, c web.Config, port int) {
	fmt.Fprintf(s.Out, "\nA device of this network joins with the code %s, once; %sphone makes the next.\n", c.Code.Now(), fmt.Sprintf("http://127.0.0.1:%d/", port))
	for i, h := range c.Hosts {
		link := fmt.Sprintf("http://%s:%d/join", h, port)
		fmt.Fprintln(s.Out, link)
		if square, err := web.TerminalSquare(link + "?code=" + c.Code.Now()); err == nil && i == 0 {
			fmt.Fprint(s.Out, square)
		}
	}
	if len(c.Hosts) == 0 {
		fmt.Fprintln(s.Out, "This machine has no address on a network.")
	}
}

// addresses returns the addresses of this machine that a device of the network may use for a listener.
func addresses(host string) []string {
	if ip := net.ParseIP(host); ip == nil || !ip.IsUnspecified() {
		return []string{host}
	}
	var out []string
	list, err := net.InterfaceAddrs()
	if err != nil {
		return nil
	}
	for _, a := range list {
		if n, ok := a.(*net.IPNet); ok && n.IP.To4() != nil && (n.IP.IsPrivate() || n.IP.IsLinkLocalUnicast()) {
			out = append(out, n.IP.String())
		}
	}
	return out
}

// browse opens an address in the user's browser.
func browse(address string) error {
	switch runtime.GOOS {
	case "windows":
		return exec.Command("rundll32", "url.dll,FileProtocolHandler", address).Start()
	case "darwin":
		return exec.Command("open", address).Start()
	}
	return exec.Command("xdg-open", address).Start()
}
