//go:build !unix

package store

// These children need rights of Unix.
func childSmallDisk(string) {}
func childNobody(string)    {}
