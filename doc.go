// Package noonmark is the map of the code; the program is cmd/noonmark.
//
// Six floors, each importing only those above it in this list, and inside a floor only along the
// arrows that arch_test.go holds:
//
//	internal/base/     quantity numeric shape cite problem    types and tools, no trade knowledge
//	internal/physics/  sun climate sky shade heat cell        one subject each; pure: no files, clock,
//	                   circuit charge wiring load bond        network, or randomness of its own
//	internal/build/    place catalog build                    gazetteer, part classes, the document
//	internal/answer/   forecast shading check dayplan         a question in, an answer out, still pure
//	                   bench diagnose track choose needs parts
//	                   whatif bands battery
//	internal/sheet/    draw sheet book                        answers as titled sheets, drawings, print
//	internal/edge/     buildfile weather tabular calendar    files, data file, terminal
//	                   partlist store web cli
//
// Light and current flow: place, time → sun → sky → plane → cell temperature → cell curves → string
// and array → cable → controller → battery ⇄ loads → ledger. Imports run against the flow.
//
// Read first: README.md, internal/base/quantity, internal/build/build/types.go, and
// internal/answer/forecast, the spine. Beside the floors: internal/testkit for tests, examples for
// builds of our own, cmd/makeclimate and cmd/makedocs, which make the embedded climate and
// docs/checks.md.
package noonmark
