package store

import (
	"bytes"
	"context"
	"crypto/sha256"
	"database/sql"
	"encoding/binary"
	"encoding/hex"
	"errors"
	"fmt"
	"image"
	"image/jpeg"
	"image/png"
	"io"
	"time"

	"golang.org/x/image/webp"

	"noonmark/internal/base/problem"
)

// Photo is a photograph of a build. Data is nil in lists.
type Photo struct {
	ID            int64
	Build         string
	Name          string // of the file, without a path
	Note          string
	At            time.Time // when it was added, or as given
	Kind          string    // "image/jpeg", "image/png", "image/webp", by its content
	Width, Height int       // pixels
	Size          int       // bytes
	Hash          string    // SHA-256 of Data, hexadecimal
	Data          []byte
}

// header is what the first bytes of a picture say.
type header struct {
	kind          string
	width, height int
}

// errPicture says that bytes are no picture the store takes.
var errPicture = errors.New("a JPEG, PNG or WebP picture; this is none, or its head is damaged")

// pictureHeader decodes the head of a picture; the picture itself is never unpacked.
func pictureHeader(data []byte) (header, error) {
	var kind string
	var decode func(io.Reader) (image.Config, error)
	switch {
	case bytes.HasPrefix(data, []byte{0xff, 0xd8, 0xff}):
		kind, decode = "image/jpeg", jpeg.DecodeConfig
	case bytes.HasPrefix(data, []byte("\x89PNG\r\n\x1a\n")):
		kind, decode = "image/png", png.DecodeConfig
	case len(data) >= 12 && string(data[:4]) == "RIFF" && string(data[8:12]) == "WEBP":
		if whole := 8 + int64(binary.LittleEndian.Uint32(data[4:])); whole > int64(len(data)) {
			return header{}, errPicture // its end is missing
		}
		kind, decode = "image/webp", webp.DecodeConfig
	default:
		return header{}, errPicture
	}
	c, err := decode(bytes.NewReader(data))
	if err != nil || c.Width < 1 || c.Height < 1 {
		return header{}, errPicture
	}
	return header{kind, c.Width, c.Height}, nil
}

// checkPicture decodes a picture's head and reports what is wrong with it.
func checkPicture(ps *problem.List, data []byte) header {
	if len(data) > LargestPhoto {
		ps.Addf("photo", "a picture of at most %d MB; it has %.1f MB", LargestPhoto>>20, float64(len(data))/(1<<20))
		return header{}
	}
	h, err := pictureHeader(data)
	switch {
	case err != nil:
		ps.Addf("photo", "%v", err)
	case h.width > LargestSide || h.height > LargestSide || int64(h.width)*int64(h.height) > LargestArea:
		ps.Addf("photo", "a picture of at most %d million pixels and %d a side; it says %d by %d", LargestArea>>20, LargestSide, h.width, h.height)
	}
	return h
}

// AddPhoto keeps a photograph of a build: Name, Note and Data are read, and At unless zero. The same picture
// under the same name is kept once, so that a request can be repeated. The result has no Data.
func (s *Store) AddPhoto(ctx context.Context, build string, p Photo) (out Photo, err error) {
	var ps problem.List
	checkName(&ps, "name", p.Name)
	checkNote(&ps, "note", p.Note)
	h := checkPicture(&ps, p.Data)
	if err := ps.Err(); err != nil {
		return Photo{}, err
	}
	sum := sha256.Sum256(p.Data)
	err = s.write(ctx, func(tx *sql.Tx) error {
		b, err := find(ctx, tx, build)
		if err != nil {
			return err
		}
		if _, err := tx.ExecContext(ctx, `INSERT INTO picture (hash, kind, width, height, data) VALUES (?, ?, ?, ?, ?) ON CONFLICT DO NOTHING`,
			sum[:], h.kind, h.width, h.height, p.Data); err != nil {
			return err
		}
		var id int64
		err = tx.QueryRowContext(ctx, `SELECT id FROM photo WHERE build = ? AND hash = ? AND name = ?`, b.id, sum[:], p.Name).Scan(&id)
		if errors.Is(err, sql.ErrNoRows) {
			at := s.now()
			if !p.At.IsZero() {
				at = p.At.UnixMilli()
			}
			var res sql.Result
			res, err = tx.ExecContext(ctx, `INSERT INTO photo (build, hash, name, note, at) VALUES (?, ?, ?, ?, ?)`, b.id, sum[:], p.Name, p.Note, at)
			if err == nil {
				id, err = res.LastInsertId()
			}
		}
		if err == nil {
			out, err = photo(ctx, tx, id)
		}
		return err
	})
	return out, err
}

const photoColumns = `SELECT p.id, b.name, p.name, p.note, p.at, i.kind, i.width, i.height, length(i.data), i.hash
	FROM photo AS p JOIN build AS b ON b.id = p.build JOIN picture AS i ON i.hash = p.hash `

// scanPhoto reads a row of photoColumns.
func scanPhoto(scan func(...any) error) (p Photo, err error) {
	var at int64
	var hash []byte
	err = scan(&p.ID, &p.Build, &p.Name, &p.Note, &at, &p.Kind, &p.Width, &p.Height, &p.Size, &hash)
	p.At, p.Hash = moment(at), hex.EncodeToString(hash)
	return p, err
}

// photo returns a photograph without its data.
func photo(ctx context.Context, tx *sql.Tx, id int64) (Photo, error) {
	p, err := scanPhoto(tx.QueryRowContext(ctx, photoColumns+`WHERE p.id = ?`, id).Scan)
	if errors.Is(err, sql.ErrNoRows) {
		err = fmt.Errorf("photograph %d: %w", id, ErrNotFound)
	}
	return p, err
}

// Photos returns a build's photographs without their data, the oldest first.
func (s *Store) Photos(ctx context.Context, build string) ([]Photo, error) {
	return listed(ctx, s, build, scanPhoto, photoColumns+`WHERE p.build = ? ORDER BY p.at, p.id`)
}

// Photo returns a photograph with its data, which agree with their hash.
func (s *Store) Photo(ctx context.Context, id int64) (p Photo, err error) {
	err = s.read(ctx, func(tx *sql.Tx) error {
		if p, err = photo(ctx, tx, id); err != nil {
			return err
		}
		hash, err := hex.DecodeString(p.Hash)
		if err != nil {
			return err
		}
		if err := tx.QueryRowContext(ctx, `SELECT data FROM picture WHERE hash = ?`, hash).Scan(&p.Data); err != nil {
			return err
		}
		return asSaved(fmt.Sprintf("photograph %d", id), p.Data, hash)
	})
	if err != nil {
		return Photo{}, err
	}
	return p, nil
}

// NotePhoto changes a photograph's note.
func (s *Store) NotePhoto(ctx context.Context, id int64, note string) error {
	var ps problem.List
	checkNote(&ps, "note", note)
	if err := ps.Err(); err != nil {
		return err
	}
	return s.write(ctx, func(tx *sql.Tx) error {
		return gone(fmt.Sprintf("photograph %d", id))(tx.ExecContext(ctx, `UPDATE photo SET note = ? WHERE id = ?`, note, id))
	})
}

// RemovePhoto takes a photograph away for good.
func (s *Store) RemovePhoto(ctx context.Context, id int64) error {
	return s.write(ctx, func(tx *sql.Tx) error {
		if err := gone(fmt.Sprintf("photograph %d", id))(tx.ExecContext(ctx, `DELETE FROM photo WHERE id = ?`, id)); err != nil {
			return err
		}
		return sweep(ctx, tx)
	})
}

// sweep removes the pictures that no photograph shows any more.
func sweep(ctx context.Context, tx *sql.Tx) error {
	_, err := tx.ExecContext(ctx, `DELETE FROM picture WHERE NOT EXISTS (SELECT 1 FROM photo WHERE photo.hash = picture.hash)`)
	return err
}
