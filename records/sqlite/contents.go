package sqlite

import (
	"bytes"
	"context"
	"crypto/sha256"
	"database/sql"
	"encoding/hex"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"slices"
	"syscall"

	"tallybook/records"
)

// FolderBeside is where the contents lie that are too large for the database's
// own file: COUNTY.db.attached/ab/abcd…, by their hash. Whoever copies the file
// copies the folder too.
func FolderBeside(path string) string { return path + ".attached" }

func (s *Store) contentPath(sha256 string) string {
	return filepath.Join(FolderBeside(s.path), sha256[:2], sha256)
}

const contentColumns = "sha256, kind, size, at, by, data IS NULL"

func scanContent(rows *sql.Rows, more ...any) (records.Content, error) {
	var c records.Content
	var at string
	err := rows.Scan(append([]any{&c.SHA256, &c.Kind, &c.Size, &at, &c.By, &c.Beside}, more...)...)
	if err == nil {
		c.At, err = parseTime(at)
	}
	return c, err
}

// Contents implements records.AttachmentView.
func (v *view) Contents(ctx context.Context, hashes []string) (map[string]records.Content, error) {
	out := map[string]records.Content{}
	for _, h := range hashes {
		err := each(ctx, v, "SELECT "+contentColumns+" FROM contents WHERE sha256 = ?", []any{h}, func(rows *sql.Rows) error {
			c, err := scanContent(rows)
			out[c.SHA256] = c
			return err
		})
		if err != nil {
			return nil, err
		}
	}
	return out, nil
}

// OpenContent implements records.AttachmentView. Its length is held against what
// was kept; whether each byte is, CheckIntegrity looks.
func (v *view) OpenContent(ctx context.Context, hash string) (out records.OpenContent, err error) {
	var data []byte
	found := false
	err = each(ctx, v, "SELECT "+contentColumns+", data FROM contents WHERE sha256 = ?", []any{hash}, func(rows *sql.Rows) error {
		found = true
		out.Content, err = scanContent(rows, &data)
		return err
	})
	switch {
	case err != nil:
		return out, err
	case !found:
		return out, records.Errorf(records.NotFound, "what was attached is not here: its content was never kept in this database")
	case !out.Beside:
		out.ReadSeekCloser = inMemory{bytes.NewReader(data)}
		return out, nil
	}
	path := v.store.contentPath(hash)
	f, err := os.Open(path)
	if err != nil {
		return out, records.WrapError(records.NotFound, err, "the content is missing beside the database: bring %s back from the latest copy", path)
	}
	if st, err := f.Stat(); err != nil || st.Size() != out.Size {
		return out, errors.Join(records.Errorf(records.NotFound, "the content beside the database is not whole: bring %s back from the latest copy", path), err, f.Close())
	}
	out.ReadSeekCloser = f
	return out, nil
}

// inMemory is a content that has nothing to close.
type inMemory struct{ *bytes.Reader }

func (inMemory) Close() error { return nil }

// KeepContent implements records.AttachmentTx. A large one is whole on the disk,
// in its place, before the row that names it is written; where the write is then
// given up, the file stays and is taken up by the next that brings the same.
func (t *tx) KeepContent(ctx context.Context, data []byte) (c records.Content, err error) {
	if len(data) > records.MostAttached {
		return c, records.TooLargeAttached("the file")
	}
	kind := records.KindOf(data)
	if kind == "" {
		return c, records.KindRefused(data)
	}
	sum := sha256.Sum256(data)
	hash := hex.EncodeToString(sum[:])
	have, err := t.Contents(ctx, []string{hash})
	if err != nil {
		return c, err
	}
	if err := t.touch(ctx); err != nil {
		return c, err
	}
	c, known := have[hash]
	if !known {
		c = records.Content{SHA256: hash, Kind: kind, Size: int64(len(data)), At: t.now, By: t.actor.Name, Beside: len(data) > records.AttachedInside}
	}
	if c.Beside {
		if err := t.store.putBeside(hash, data); err != nil {
			return c, err
		}
	}
	if known {
		return c, nil
	}
	var inside any
	if !c.Beside {
		inside = data
	}
	_, err = t.write(ctx, "INSERT INTO contents(sha256, kind, size, at, by, data) VALUES (?, ?, ?, ?, ?, ?)", hash, kind, c.Size, formatTime(c.At), c.By, inside)
	return c, err
}

// putBeside writes a file as a whole or not at all, and leaves one that is whole
// as it is.
func (s *Store) putBeside(hash string, data []byte) error {
	path := s.contentPath(hash)
	if have, err := hashFile(path); err == nil && have == hash {
		return nil
	}
	err := writeBeside(path, data)
	switch {
	case err == nil:
		return nil
	case errors.Is(err, syscall.ENOSPC), errors.Is(err, syscall.EDQUOT):
		return records.WrapError(records.TooLarge, err, "the disk is full, and nothing was attached: make room and try again")
	case errors.Is(err, fs.ErrPermission), errors.Is(err, syscall.EROFS):
		return records.WrapError(records.Forbidden, err, "the folder %s may not be written, and nothing was attached: ask whoever owns it", FolderBeside(s.path))
	}
	return fmt.Errorf("sqlite: content %s: %w", hash, err)
}

// unfinished begins the names of files that are being written.
const unfinished = ".part-"

func writeBeside(path string, data []byte) (err error) {
	folder := filepath.Dir(path)
	if err := os.MkdirAll(folder, 0o700); err != nil { // people's names are on scans
		return err
	}
	f, err := os.CreateTemp(folder, unfinished+"*") // of mode 0600
	if err != nil {
		return err
	}
	_, err = f.Write(data)
	err = errors.Join(err, f.Sync(), f.Close())
	if err == nil {
		err = os.Rename(f.Name(), path)
	}
	if err != nil {
		return errors.Join(err, os.Remove(f.Name()))
	}
	for _, d := range []string{folder, filepath.Dir(folder), filepath.Dir(filepath.Dir(folder))} { // the names are on the disk too
		if err := syncFolder(d); err != nil {
			return err
		}
	}
	return nil
}

// syncFolder has a folder's names written; where the system has no such thing
// there is nothing to be done.
func syncFolder(path string) error {
	d, err := os.Open(path)
	if err != nil {
		return err
	}
	err = d.Sync()
	if errors.Is(err, errors.ErrUnsupported) || errors.Is(err, syscall.EINVAL) {
		err = nil
	}
	return errors.Join(err, d.Close())
}

func hashFile(path string) (string, error) {
	f, err := os.Open(path)
	if err != nil {
		return "", err
	}
	h := sha256.New()
	_, err = io.Copy(h, f)
	return hex.EncodeToString(h.Sum(nil)), errors.Join(err, f.Close())
}

// contents holds what is attached against the records that name it, and every
// byte of it against its hash. What is named and was never kept here, and what
// is kept and named by nobody, does no harm: it is told as something to look at.
func (c *integrity) contents(ctx context.Context) error {
	named, err := c.namedContents(ctx)
	if err != nil {
		return err
	}
	kept := map[string]bool{} // by hash; true for those beside
	err = each(ctx, c.view, "SELECT "+contentColumns+", data FROM contents ORDER BY id", nil, func(rows *sql.Rows) error {
		var data []byte
		x, err := scanContent(rows, &data)
		if err != nil {
			return err
		}
		kept[x.SHA256] = x.Beside
		have := ""
		if x.Beside && records.ValidSHA256(x.SHA256) {
			if have, err = hashFile(c.store.contentPath(x.SHA256)); errors.Is(err, fs.ErrNotExist) {
				c.add("attached", fmt.Sprintf("the content %s is not in the folder beside the database", x.SHA256), "bring "+c.store.contentPath(x.SHA256)+" back from the latest copy, or attach the same file again")
				return ctx.Err()
			} else if err != nil {
				have = err.Error()
			}
		} else {
			sum := sha256.Sum256(data)
			have = hex.EncodeToString(sum[:])
		}
		if have != x.SHA256 {
			c.add("attached", fmt.Sprintf("the content %s is not whole: its bytes are others (%s)", x.SHA256, have), "bring it back from the latest copy, or attach the same file again")
		}
		if _, is := named[x.SHA256]; !is {
			c.mention("attached", fmt.Sprintf("the content %s is named by no record and by no earlier state of one", x.SHA256), "nothing has to be done")
		}
		return ctx.Err()
	})
	if err != nil {
		return err
	}
	missing := 0
	for _, hash := range sortedKeys(named) {
		if _, is := kept[hash]; !is && named[hash] != "" && missing < mostFaults {
			missing++
			c.mention("attached", named[hash], "attach the file, if you have it")
		}
	}
	return c.strayFiles(kept)
}

// namedContents are the hashes that records and their earlier states name, each
// with what is to be said where a record that stands now names what is not here.
func (c *integrity) namedContents(ctx context.Context) (map[string]string, error) {
	named := map[string]string{}
	for _, q := range []struct {
		query string
		now   bool
	}{
		{`SELECT well_id, image FROM revisions WHERE instr(image, '"attachments"') > 0`, false},
		{`SELECT well_id, doc FROM well_records WHERE instr(doc, '"attachments"') > 0`, true},
	} {
		err := each(ctx, c.view, q.query, nil, func(rows *sql.Rows) error {
			var id int64
			var doc []byte
			if err := rows.Scan(&id, &doc); err != nil {
				return err
			}
			w := &records.Well{}
			if _, err := parseFeature(doc, w); err != nil {
				return ctx.Err() // the layer's own check tells it
			}
			for _, a := range w.Attachments {
				if words, is := named[a.SHA256]; q.now && words == "" {
					named[a.SHA256] = fmt.Sprintf("record %d names %q, whose content was never kept here", id, a.Name)
				} else if !is {
					named[a.SHA256] = ""
				}
			}
			return ctx.Err()
		})
		if err != nil {
			return nil, err
		}
	}
	return named, nil
}

// strayFiles finds what lies in the folder and belongs to no content.
func (c *integrity) strayFiles(kept map[string]bool) error {
	folder := FolderBeside(c.store.path)
	found := 0
	err := filepath.WalkDir(folder, func(path string, d fs.DirEntry, err error) error {
		if err != nil || d.IsDir() || found >= mostFaults {
			return err
		}
		if beside, is := kept[d.Name()]; !is || !beside || path != c.store.contentPath(d.Name()) {
			found++
			c.mention("attached", fmt.Sprintf("the file %s belongs to nothing: something was being attached when the program ended, or another put it there", path), "it can be deleted")
		}
		return nil
	})
	if errors.Is(err, fs.ErrNotExist) {
		return nil
	}
	return err
}

// mention notes what is to be looked at and is not wrong.
func (c *integrity) mention(field, message, mend string) {
	c.faults = append(c.faults, records.Fault{Severity: records.Warning, Field: field, Message: message, Mend: mend})
}

func sortedKeys(m map[string]string) []string {
	out := make([]string, 0, len(m))
	for k := range m {
		out = append(out, k)
	}
	slices.Sort(out)
	return out
}
