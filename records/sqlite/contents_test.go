package sqlite_test

import (
	"context"
	"io/fs"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"tallybook/records"
	"tallybook/records/recordstest"
	"tallybook/records/sqlite"
)

func TestAttachmentsConform(t *testing.T) { recordstest.ConformAttachments(t, fresh) }

// besideFiles are the files in the folder beside a database.
func besideFiles(t *testing.T, path string) []string {
	t.Helper()
	var out []string
	err := filepath.WalkDir(sqlite.FolderBeside(path), func(p string, d fs.DirEntry, err error) error {
		if err == nil && !d.IsDir() {
			out = append(out, p)
		}
		return err
	})
	if err != nil && !os.IsNotExist(err) {
		t.Fatal(err)
	}
	return out
}

// Each thing that can go wrong with what is attached is found and named by the
// check; what does no harm is told and is no fault.
func TestIntegrityOfAttachments(t *testing.T) {
	small, large := recordstest.Scan("image/png", 300), recordstest.Scan("image/jpeg", records.AttachedInside+5)
	for _, c := range []struct {
		name   string
		break_ func(t *testing.T, s *sqlite.Store, file string)
		words  string
		wrong  bool
	}{
		{"sound", func(*testing.T, *sqlite.Store, string) {}, "", false},
		{"gone", func(t *testing.T, _ *sqlite.Store, file string) { must(t, os.Remove(file)) }, "is not in the folder beside", true},
		{"shorter", func(t *testing.T, _ *sqlite.Store, file string) { must(t, os.Truncate(file, 100)) }, "is not whole", true},
		{"one byte otherwise", func(t *testing.T, _ *sqlite.Store, file string) {
			other := append([]byte{}, large...)
			other[len(other)-1]++
			must(t, os.WriteFile(file, other, 0o600))
		}, "is not whole", true},
		{"inside otherwise", func(t *testing.T, s *sqlite.Store, _ string) {
			_, err := s.Writer().Exec("DROP TRIGGER contents_never_change; UPDATE contents SET data = zeroblob(300) WHERE data IS NOT NULL")
			must(t, err)
		}, "is not whole", true},
		{"a stray file", func(t *testing.T, _ *sqlite.Store, file string) {
			must(t, os.WriteFile(filepath.Join(filepath.Dir(file), ".part-1"), large[:50], 0o600))
		}, "belongs to nothing", false},
		{"named by nobody", func(t *testing.T, s *sqlite.Store, _ string) {
			must(t, s.Update(t.Context(), records.Actor{Name: "t"}, func(tx records.StoreTx) error {
				_, err := tx.KeepContent(t.Context(), recordstest.Scan("application/pdf", 77))
				return err
			}))
		}, "named by no record", false},
		{"named and never here", func(t *testing.T, s *sqlite.Store, _ string) {
			put(t, s, &records.Well{Number: "W-2", Attachments: []records.Attachment{{Name: "from elsewhere.pdf", SHA256: strings.Repeat("ab", 32)}}})
		}, "never kept here", false},
		{"named by an earlier state alone", func(t *testing.T, s *sqlite.Store, _ string) {
			w := read(t, s, 1)
			w.Attachments = nil
			put(t, s, w)
		}, "", false},
	} {
		t.Run(c.name, func(t *testing.T) {
			s, path := newStore(t)
			w := &records.Well{Number: "W-1"}
			must(t, s.Update(t.Context(), records.Actor{Name: "t"}, func(tx records.StoreTx) error {
				for _, data := range [][]byte{small, large} {
					k, err := tx.KeepContent(t.Context(), data)
					if err != nil {
						return err
					}
					w.Attachments = append(w.Attachments, records.Attachment{Name: "log", Kind: k.Kind, SHA256: k.SHA256})
				}
				return tx.PutWell(context.Background(), w, "")
			}))
			files := besideFiles(t, path)
			if len(files) != 1 {
				t.Fatalf("beside the database lie %v", files)
			}
			if st, err := os.Stat(files[0]); err != nil || st.Mode().Perm() != 0o600 {
				t.Errorf("others may read %s: %v %v", files[0], st.Mode(), err)
			}
			c.break_(t, s, files[0])
			faults, err := s.CheckIntegrity(t.Context())
			must(t, err)
			if c.words == "" && len(faults) > 0 || c.words != "" && len(faults) != 1 {
				t.Fatalf("it finds %v", faults)
			}
			if c.words != "" && (!strings.Contains(faults[0].Message, c.words) || records.Refuses(faults) != c.wrong || faults[0].Mend == "") {
				t.Errorf("it finds %v, %v", faults[0].Severity, faults)
			}
		})
	}
}

// What is lost from the folder is there again once the same file is attached
// again, and opening what is not whole says so.
func TestALostContentIsBroughtBack(t *testing.T) {
	s, path := newStore(t)
	data := recordstest.Scan("application/pdf", records.AttachedInside+5)
	keep := func() (c records.Content) {
		must(t, s.Update(t.Context(), records.Actor{Name: "t"}, func(tx records.StoreTx) (err error) {
			c, err = tx.KeepContent(t.Context(), data)
			return err
		}))
		return c
	}
	c := keep()
	for _, harm := range []func(string) error{os.Remove, func(f string) error { return os.Truncate(f, 9) }} {
		must(t, harm(besideFiles(t, path)[0]))
		err := s.View(t.Context(), func(v records.StoreView) error {
			_, err := v.OpenContent(t.Context(), c.SHA256)
			return err
		})
		if records.CodeOf(err) != records.NotFound || !strings.Contains(records.MessageOf(err), "latest copy") {
			t.Errorf("opened: %v", err)
		}
		if again := keep(); again != c {
			t.Errorf("kept again as %+v", again)
		}
		if faults, err := s.CheckIntegrity(t.Context()); err != nil || records.Refuses(faults) {
			t.Errorf("and still %v %v", faults, err)
		}
	}
}

func must(t *testing.T, err error) {
	t.Helper()
	if err != nil {
		t.Fatal(err)
	}
}
