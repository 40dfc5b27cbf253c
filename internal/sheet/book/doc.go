// Package book puts sheets on paper: a PDF book with title blocks and page numbers, cards to carry, the
// papers to ask about, and a template in the module's own size over as many pages as it takes.
//
// Pages lie on their long side. Print at 100 %, never fitted to the page: drawings have a scale.
package book
