// Command noonmark computes solar power on a camping vehicle. See noonmark --help.
package main

import (
	"context"
	"os"
	"os/signal"
	"syscall"
	"time"

	"golang.org/x/term"

	"noonmark/internal/edge/cli"
)

func main() {
	ctx, stop := signal.NotifyContext(context.Background(), os.Interrupt, syscall.SIGTERM)
	s := cli.Streams{In: os.Stdin, Out: os.Stdout, Err: os.Stderr, Clock: time.Now, Terminal: term.IsTerminal(int(os.Stderr.Fd()))}
	if w, _, err := term.GetSize(int(os.Stdout.Fd())); err == nil {
		s.Width = w
	}
	code := cli.Run(ctx, os.Args[1:], s)
	stop()
	os.Exit(code)
}
