// Package draw holds one vector scene and turns it into SVG for the screen and a PDF page for paper:
// lines, polygons, circles, arcs, hatches, text, dimension lines, arrows, numbered marks, in layers.
//
// A place on the sheet is a plain number of millimetres, x to the right and y down from the upper left
// corner, as the lengths of a drawing and not of the thing drawn; Scale turns the thing's lengths into
// them. Angles are degrees, clockwise from the x axis as seen on the sheet.
//
// Colour never carries a meaning alone: hatches, dashes and letters say the same in black and white.
// Not covered: bitmaps, gradients, transparency, right-to-left scripts.
package draw
