// Package buildfile reads build files: YAML into a build.Document, every problem at once with its line,
// column and path, and the JSON Schema of the same fields for editors.
//
// The fields, their meaning and an example of their text stand in the tags of build.Document; this
// package only walks them. Aliases and anchors are refused, as are files over a megabyte.
package buildfile
