// Package web is the sheets in a browser: a shelf of builds, each as working drawing sheets that redraw as
// the build changes, an editor of its text, its revisions, and the same answers as JSON.
//
// Pages are made on the server, whole and in memory, and work without script; small modules add what a hand
// moves. A change is a new revision in the store, based on the one the page showed: a stale one meets a merge
// page, never a silent loss. Nothing is fetched from outside and the content policy forbids it.
//
// The server listens on the loopback unless told otherwise; it refuses a foreign Host or Origin, so that no
// page elsewhere can read or change a build by way of the reader's browser. From another machine it asks for a
// one-time code, with few tries.
//
// Left out: accounts, encryption of the local network's traffic. The solid view is a picture: the plan carries
// the figures.
package web
