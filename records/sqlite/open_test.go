package sqlite_test

import (
	"context"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"strconv"
	"strings"
	"syscall"
	"testing"
	"time"

	"tallybook/migrations"
	"tallybook/records"
	"tallybook/records/sqlite"
)

func TestMigrationsAreNumberedWithoutGaps(t *testing.T) {
	names, err := fs.Glob(migrations.FS, "*")
	if err != nil {
		t.Fatal(err)
	}
	form := regexp.MustCompile(`^(\d{4})_[a-z0-9_]+\.sql$`)
	for i, name := range names { // fs.Glob sorts
		m := form.FindStringSubmatch(name)
		if m == nil {
			t.Fatalf("%s is not named <number>_<subject>.sql", name)
		}
		if n, _ := strconv.Atoi(m[1]); n != i+1 {
			t.Errorf("%s stands where number %d should", name, i+1)
		}
		text, err := fs.ReadFile(migrations.FS, name)
		if err != nil {
			t.Fatal(err)
		}
		if strings.Contains(string(text), "NO TRANSACTION") {
			t.Errorf("%s does not run in a transaction", name)
		}
	}
	if len(names) == 0 {
		t.Error("no migrations")
	}
}

// The triggers that a repair makes are those that a new file has.
func TestMigrationHasTheGeneratedTriggers(t *testing.T) {
	text, err := fs.ReadFile(migrations.FS, "0014_outside.sql")
	if err != nil {
		t.Fatal(err)
	}
	for _, trigger := range sqlite.SpatialTriggers() {
		if !strings.Contains(string(text), trigger+";") {
			t.Errorf("the migration lacks, or has another form of:\n%.200s", trigger)
		}
	}
}

func openError(t *testing.T, o sqlite.Options) error {
	t.Helper()
	s, err := sqlite.Open(t.Context(), o)
	if err == nil {
		if err := s.Close(); err != nil {
			t.Error(err)
		}
	}
	return err
}

func TestWhatCannotBeOpened(t *testing.T) {
	dir := t.TempDir()
	valid := filepath.Join(dir, "valid.sqlite")
	s, err := sqlite.Open(t.Context(), options(valid))
	if err != nil {
		t.Fatal(err)
	}
	for i := range 50 {
		put(t, s, invented(uint64(i)))
	}
	if err := s.Close(); err != nil {
		t.Fatal(err)
	}
	whole, err := os.ReadFile(valid)
	if err != nil {
		t.Fatal(err)
	}
	write := func(name string, b []byte) string {
		path := filepath.Join(dir, name)
		if err := os.WriteFile(path, b, 0o600); err != nil {
			t.Fatal(err)
		}
		return path
	}
	other := filepath.Join(dir, "other.sqlite")
	foreign(t, other, "CREATE TABLE t(a)")
	newer := write("newer.sqlite", whole)
	foreign(t, newer, "INSERT INTO goose_db_version(version_id, is_applied) VALUES (99, 1)")
	for _, c := range []struct {
		name, path string
		code       records.Code
		says       string
	}{
		{"text", write("text.sqlite", []byte(strings.Repeat("not a database, ", 100))), records.Invalid, "not a database of this program"},
		{"short text", write("short.sqlite", []byte("short")), records.Invalid, "not a database of this program"},
		{"another program's database", other, records.Invalid, "another program"},
		{"newer schema", newer, records.Invalid, "newer version of the program"},
		{"a folder", dir, records.Invalid, "cannot be"},
		{"cut off in the header", write("cut50.sqlite", whole[:50]), records.Invalid, "not a database of this program"},
		{"cut off after a page", write("cut4k.sqlite", whole[:4096]), records.Invalid, "damaged"},
		{"cut off in the middle", write("cut.sqlite", whole[:len(whole)/2]), records.Invalid, "damaged"},
	} {
		t.Run(c.name, func(t *testing.T) {
			before, _ := os.ReadFile(c.path)
			err := openError(t, options(c.path))
			if records.CodeOf(err) != c.code || !strings.Contains(records.MessageOf(err), c.says) {
				t.Errorf("got %v (%v), want %v saying %q", err, records.CodeOf(err), c.code, c.says)
			}
			after, _ := os.ReadFile(c.path)
			if string(before) != string(after) {
				t.Error("the file was changed")
			}
		})
	}
	t.Run("another program's database stays as it was", func(t *testing.T) {
		if _, err := os.Stat(other + "-wal"); !errors.Is(err, fs.ErrNotExist) {
			t.Errorf("a companion file was left: %v", err)
		}
	})
	t.Run("missing", func(t *testing.T) {
		o := options(filepath.Join(dir, "missing.sqlite"))
		o.Create = false
		if err := openError(t, o); records.CodeOf(err) != records.NotFound {
			t.Errorf("got %v", err)
		}
		if _, err := os.Stat(o.Path); !errors.Is(err, fs.ErrNotExist) {
			t.Error("a file was made")
		}
	})
	t.Run("missing folder", func(t *testing.T) {
		if err := openError(t, options(filepath.Join(dir, "no", "where.sqlite"))); records.CodeOf(err) != records.NotFound {
			t.Errorf("got %v", err)
		}
	})
	t.Run("empty file", func(t *testing.T) {
		if err := openError(t, options(write("empty.sqlite", nil))); err != nil {
			t.Errorf("got %v", err)
		}
	})
	t.Run("only the owner may read a new file", func(t *testing.T) {
		info, err := os.Stat(valid)
		if err != nil || info.Mode().Perm() != 0o600 {
			t.Errorf("mode %v (%v)", info.Mode(), err)
		}
	})
}

// helper runs a test of this binary in a process of its own, told by
// environment variables what to do.
func helper(t *testing.T, binary, test string, uid uint32, env ...string) *exec.Cmd {
	t.Helper()
	cmd := exec.CommandContext(t.Context(), binary, "-test.run=^"+test+"$", "-test.v")
	cmd.Env = append(os.Environ(), env...)
	if uid != 0 {
		cmd.SysProcAttr = &syscall.SysProcAttr{Credential: &syscall.Credential{Uid: uid, Gid: uid}}
		cmd.Dir = "/"
	}
	return cmd
}

const (
	helperPath = "STORE_TEST_PATH"
	helperJob  = "STORE_TEST_JOB"
)

// TestAsAnotherProcess does nothing unless another test starts it.
func TestAsAnotherProcess(t *testing.T) {
	path := os.Getenv(helperPath)
	if path == "" {
		t.Skip("for other tests to start")
	}
	switch os.Getenv(helperJob) {
	case "open":
		err := openError(t, options(path))
		fmt.Printf("code=%v message=%s\n", records.CodeOf(err), records.MessageOf(err))
		if err == nil {
			t.Error("opened")
		}
	case "write":
		s := open(t, path)
		for i := range 30 {
			put(t, s, invented(uint64(1000+i)))
		}
	}
}

func TestFolderThatCannotBeWrittenTo(t *testing.T) {
	dir := t.TempDir()
	path := filepath.Join(dir, "wells.sqlite")
	s, err := sqlite.Open(t.Context(), options(path))
	if err != nil {
		t.Fatal(err)
	}
	if err := s.Close(); err != nil {
		t.Fatal(err)
	}
	for p, mode := range map[string]fs.FileMode{path: 0o644, dir: 0o555, filepath.Dir(dir): 0o755} {
		if err := os.Chmod(p, mode); err != nil {
			t.Fatal(err)
		}
	}
	t.Cleanup(func() {
		if err := os.Chmod(dir, 0o755); err != nil {
			t.Error(err)
		}
	})
	if os.Geteuid() != 0 {
		if err := openError(t, options(path)); records.CodeOf(err) != records.Forbidden {
			t.Errorf("got %v", err)
		}
		return
	}
	// The superuser may write anywhere: be somebody else.
	binary := filepath.Join(t.TempDir(), "store.test")
	b, err := os.ReadFile("/proc/self/exe")
	if err != nil {
		t.Fatal(err)
	}
	if err := os.WriteFile(binary, b, 0o755); err != nil {
		t.Fatal(err)
	}
	for _, p := range []string{filepath.Dir(binary), filepath.Dir(filepath.Dir(binary))} {
		if err := os.Chmod(p, 0o755); err != nil {
			t.Fatal(err)
		}
	}
	out, err := helper(t, binary, "TestAsAnotherProcess", 65534, helperPath+"="+path, helperJob+"=open").CombinedOutput()
	if err != nil || !strings.Contains(string(out), "code=forbidden") || !strings.Contains(string(out), "cannot be") {
		t.Errorf("%v\n%s", err, out)
	}
}

func TestTwoProcessesWrite(t *testing.T) {
	s, path := newStore(t)
	binary, err := os.Executable()
	if err != nil {
		t.Fatal(err)
	}
	cmd := helper(t, binary, "TestAsAnotherProcess", 0, helperPath+"="+path, helperJob+"=write")
	done := make(chan error, 1)
	go func() {
		out, err := cmd.CombinedOutput()
		if err != nil {
			err = fmt.Errorf("%w\n%s", err, out)
		}
		done <- err
	}()
	for i := range 30 {
		put(t, s, invented(uint64(i)))
	}
	if err := <-done; err != nil {
		t.Fatal(err)
	}
	view(t, s, func(ctx context.Context, v records.StoreView) error {
		n, err := v.CountWells(ctx)
		if n != 60 {
			t.Errorf("%d wells, want 60", n)
		}
		return err
	})
	agree(t, s, "written by two processes")
	indexInStep(t, s)
	ex(t, s, "PRAGMA integrity_check", "ok")
}

func TestTwoOpenANewFileAtOnce(t *testing.T) {
	path := filepath.Join(t.TempDir(), "new.sqlite")
	errs := make(chan error, 4)
	for range 4 {
		go func() {
			s, err := sqlite.Open(context.Background(), options(path))
			if err == nil {
				err = s.Close()
			}
			errs <- err
		}()
	}
	for range 4 {
		if err := <-errs; err != nil {
			t.Error(err)
		}
	}
}

func TestBusyIsTold(t *testing.T) {
	_, path := newStore(t)
	o := options(path)
	o.BusyWait = 300 * time.Millisecond
	s, err := sqlite.Open(t.Context(), o)
	if err != nil {
		t.Fatal(err)
	}
	defer s.Close()
	other := open(t, path)
	update(t, other, func(context.Context, records.StoreTx) error {
		err := s.Update(t.Context(), someone, func(tx records.StoreTx) error { return nil })
		if records.CodeOf(err) != records.Busy {
			t.Errorf("got %v, want busy", err)
		}
		ctx, cancel := context.WithCancel(t.Context())
		cancel()
		if err := s.Update(ctx, someone, func(tx records.StoreTx) error { return nil }); !errors.Is(err, context.Canceled) {
			t.Errorf("got %v, want cancelled", err)
		}
		return s.View(t.Context(), func(v records.StoreView) error { // readers never wait
			_, err := v.CountWells(t.Context())
			return err
		})
	})
	put(t, s, at(1, 1))
}

func TestFullDisk(t *testing.T) {
	s, _ := newStore(t)
	put(t, s, invented(0))
	var pages, limit int64
	scan(t, s, "PRAGMA page_count", &pages)
	scan(t, s, fmt.Sprintf("PRAGMA max_page_count = %d", pages+10), &limit)
	err := s.Update(t.Context(), someone, func(tx records.StoreTx) error {
		for i := range 10000 {
			if err := tx.PutWell(t.Context(), invented(uint64(1+i)), ""); err != nil {
				return err
			}
		}
		return nil
	})
	if records.CodeOf(err) != records.TooLarge || !strings.Contains(records.MessageOf(err), "disk is full") {
		t.Errorf("got %v, want a full disk", err)
	}
	ex(t, s, "SELECT count(*) FROM wells", int64(1))
	scan(t, s, "PRAGMA max_page_count = 1000000", &limit)
	put(t, s, invented(1))
	ex(t, s, "SELECT count(*) FROM wells", int64(2))
	indexInStep(t, s)
}

func TestConnectionsAreSetUp(t *testing.T) {
	s, _ := newStore(t)
	for pragma, want := range map[string]any{
		"journal_mode": "wal", "foreign_keys": int64(1), "secure_delete": int64(1), "synchronous": int64(2),
		"application_id": int64(0x746c7962), "query_only": int64(0),
	} {
		ex(t, s, "PRAGMA "+pragma, want)
	}
	for range 3 { // every connection of the pool
		c, err := s.Readers().Conn(t.Context())
		if err != nil {
			t.Fatal(err)
		}
		defer c.Close()
		if _, err := c.ExecContext(t.Context(), "DELETE FROM wells"); err == nil {
			t.Error("a reader may write")
		}
	}
}
