package main

import (
	"bufio"
	"bytes"
	"context"
	"errors"
	"fmt"
	"io"
	"net/http"
	"os"
	"os/exec"
	"path/filepath"
	"runtime"
	"strings"
	"sync"
	"syscall"
	"testing"
	"time"
)

// served is a server that runs in this process.
type served struct {
	url string
	end func() (code int, said string)
}

// serveIt starts a server and waits for its address.
func serveIt(t *testing.T, args ...string) *served {
	t.Helper()
	ctx, stop := context.WithCancel(context.Background())
	r, w := io.Pipe()
	var said bytes.Buffer
	codes := make(chan int, 1)
	go func() {
		code := run(ctx, args, w, &said)
		codes <- code
		_ = w.CloseWithError(io.EOF) // a pipe's writer never fails to close
	}()
	line, err := bufio.NewReader(r).ReadString('\n')
	if err != nil {
		stop()
		t.Fatalf("no address: %v, code %d: %s", err, <-codes, said.String())
	}
	s := &served{url: strings.TrimSpace(line)}
	s.end = sync.OnceValues(func() (int, string) { stop(); code := <-codes; return code, said.String() })
	t.Cleanup(func() { s.end() })
	return s
}

func get(t *testing.T, url string) (int, string) {
	t.Helper()
	resp, err := http.Get(url)
	if err != nil {
		t.Fatal(err)
	}
	b, err := io.ReadAll(resp.Body)
	if err := errors.Join(err, resp.Body.Close()); err != nil {
		t.Fatal(err)
	}
	return resp.StatusCode, string(b)
}

// TestServerAndOthersBesideIt: the first line is the address and it answers;
// imports, exports, checks and layers go on beside it and it shows what they
// did; a second server is refused, and so is a port in use.
func TestServerAndOthersBesideIt(t *testing.T) {
	db := county(t, 30)
	s := serveIt(t, "serve", "--db", db, "--addr", "127.0.0.1:0")
	if code, page := get(t, s.url); code != http.StatusOK || !strings.Contains(page, "<svg") {
		t.Fatalf("%s answers %d", s.url, code)
	}
	if r := do(t, "serve", "--db", db, "--addr", "127.0.0.1:0"); r.code != exitBusy || !strings.Contains(r.err, "being served already") || r.out != "" {
		t.Errorf("a second server ends with %d and says %q", r.code, r.err)
	}
	port := strings.TrimSuffix(strings.TrimPrefix(s.url, "http://"), "/")
	if r := do(t, "serve", "--db", county(t, 1), "--addr", port); r.code != exitBusy || !strings.Contains(r.err, "in use") || r.out != "" {
		t.Errorf("a port in use ends with %d and says %q", r.code, r.err)
	}
	must(t, "import", "--db", db, file(t, "more.ndjson", strings.ReplaceAll(wells(5), "W-", "NEW-")))
	if n := strings.Count(must(t, "export", "--db", db).out, `"type":"Feature"`); n != 35 {
		t.Errorf("export beside a server gives %d wells", n)
	}
	must(t, "check", "--db", db)
	for deadline := time.Now().Add(20 * time.Second); ; time.Sleep(50 * time.Millisecond) {
		if code, _ := get(t, s.url+"well/31"); code == http.StatusOK {
			break
		}
		if time.Now().After(deadline) {
			t.Fatal("after 20 s the server does not show what was taken in")
		}
	}
	if code, said := s.end(); code != exitOK {
		t.Errorf("interrupted, it ends with %d and says %s", code, said)
	}
	again := serveIt(t, "serve", "--db", db, "--addr", "127.0.0.1:0")
	if code, _ := get(t, again.url); code != http.StatusOK {
		t.Errorf("served again, it answers %d", code)
	}
}

func TestAddressesThatAreNone(t *testing.T) {
	db := county(t, 1)
	for _, addr := range []string{"8080", "0.0.0.0:0", "192.0.2.1:0", "example.org:80", "127.0.0.1:99999", "127.0.0.1:http-nope"} {
		r := do(t, "serve", "--db", db, "--addr", addr)
		if r.code == exitOK || r.code == exitInternal || r.out != "" || !strings.HasPrefix(r.err, "tallybook: ") {
			t.Errorf("%s ends with %d and says %q", addr, r.code, r.err)
		}
	}
}

// TestDemo makes the township once and serves it as it is the next time.
func TestDemo(t *testing.T) {
	dir := t.TempDir()
	db := filepath.Join(dir, "demo.db")
	s := serveIt(t, "demo", "--db", db, "--addr", "127.0.0.1:0")
	if code, page := get(t, s.url); code != http.StatusOK || !strings.Contains(strings.ToLower(page), "invented") {
		t.Errorf("%d, and it does not say that it is invented", code)
	}
	if _, said := s.end(); !strings.Contains(said, "making the demonstration database") {
		t.Errorf("it says %q", said)
	}
	onlyHolds(t, dir, "demo.db")
	must(t, "check", "--db", db)
	s = serveIt(t, "demo", "--db", db, "--addr", "127.0.0.1:0")
	if _, said := s.end(); strings.Contains(said, "making") {
		t.Error("it is made again")
	}
	if r := do(t, "demo", "--db", filepath.Join(dir, "none", "demo.db")); r.code == exitOK || !strings.Contains(r.err, "none") {
		t.Errorf("a missing folder ends with %d and says %q", r.code, r.err)
	}
	// Interrupted while it is made, it leaves nothing.
	ctx, stop := context.WithCancel(t.Context())
	stop()
	r := doWith(t, ctx, "demo", "--db", filepath.Join(dir, "other.db"), "--addr", "127.0.0.1:0")
	if r.code != exitInterrupted {
		t.Errorf("interrupted, it ends with %d and says %q", r.code, r.err)
	}
	onlyHolds(t, dir, "demo.db")
}

// asProgram is the variable in the environment that makes the test binary
// behave as the program, with the arguments that it holds.
const asProgram = "TALLYBOOK_TEST_ARGUMENTS"

// TestAsProgram is no test: it is the program, for what cannot be seen in
// process.
func TestAsProgram(t *testing.T) {
	args, ok := os.LookupEnv(asProgram)
	if !ok {
		t.Skip("runs as the program only when another test asks it to")
	}
	os.Args = append(os.Args[:1], strings.Split(args, "\x1f")...)
	main()
}

// programFor is a program run apart, from a binary.
func programFor(binary string, args ...string) *exec.Cmd {
	cmd := exec.Command(binary, "-test.run=^TestAsProgram$")
	cmd.Env = append(os.Environ(), asProgram+"="+strings.Join(args, "\x1f"))
	return cmd
}

func ownBinary(t *testing.T) string {
	t.Helper()
	path, err := os.Executable()
	if err != nil {
		t.Fatal(err)
	}
	return path
}

// TestInterruptedImport sends a real SIGINT into the middle of a long import.
func TestInterruptedImport(t *testing.T) {
	dir := t.TempDir()
	db, refused := filepath.Join(dir, "c.db"), filepath.Join(dir, "refused.ndjson")
	must(t, "import", "--db", db, file(t, "a.ndjson", wells(3)))
	pipe := filepath.Join(dir, "slow.ndjson")
	if err := syscall.Mkfifo(pipe, 0o600); err != nil {
		t.Skipf("no pipes here: %v", err)
	}
	cmd := programFor(ownBinary(t), "import", "--db", db, "--refused", refused, "--format", "geojson", pipe)
	var said bytes.Buffer
	cmd.Stderr, cmd.Stdout = &said, &said
	if err := cmd.Start(); err != nil {
		t.Fatal(err)
	}
	w, err := os.OpenFile(pipe, os.O_WRONLY, 0)
	if err != nil {
		t.Fatal(err)
	}
	if _, err := io.WriteString(w, strings.ReplaceAll(wells(6000), "W-", "X-")+"{}\n"); err != nil {
		t.Fatal(err)
	}
	// The rows are there and the end is not: it waits.
	for deadline := time.Now().Add(30 * time.Second); ; time.Sleep(20 * time.Millisecond) {
		if rawCount(t, db, "SELECT count(*) FROM wells") > 3 {
			break
		}
		if time.Now().After(deadline) {
			t.Fatalf("nothing was staged: %s", said.String())
		}
	}
	if err := cmd.Process.Signal(os.Interrupt); err != nil {
		t.Fatal(err)
	}
	if err := w.Close(); err != nil {
		t.Fatal(err)
	}
	var exit *exec.ExitError
	if err := cmd.Wait(); !errors.As(err, &exit) || exit.ExitCode() != exitInterrupted || !strings.Contains(said.String(), "interrupted; nothing was taken in") {
		t.Errorf("it ends with %v and says %q", err, said.String())
	}
	onlyHolds(t, dir, "c.db", "slow.ndjson")
	must(t, "check", "--db", db)
	if n := rawCount(t, db, "SELECT count(*) FROM wells"); n != 3 {
		t.Errorf("%d wells are there, want the 3 of before", n)
	}
}

// TestKilledImport: the program is killed in the middle; the same import can be
// made again at once.
func TestKilledImport(t *testing.T) {
	dir := t.TempDir()
	db, pipe := filepath.Join(dir, "c.db"), filepath.Join(dir, "wells.ndjson")
	if err := syscall.Mkfifo(pipe, 0o600); err != nil {
		t.Skipf("no pipes here: %v", err)
	}
	cmd := programFor(ownBinary(t), "import", "--db", db, "--format", "geojson", pipe)
	if err := cmd.Start(); err != nil {
		t.Fatal(err)
	}
	w, err := os.OpenFile(pipe, os.O_WRONLY, 0)
	if err != nil {
		t.Fatal(err)
	}
	if _, err := io.WriteString(w, wells(5000)); err != nil {
		t.Fatal(err)
	}
	for deadline := time.Now().Add(30 * time.Second); rawCount(t, db, "SELECT count(*) FROM wells") == 0; time.Sleep(20 * time.Millisecond) {
		if time.Now().After(deadline) {
			t.Fatal("nothing was staged")
		}
	}
	if err := errors.Join(cmd.Process.Kill(), w.Close()); err != nil {
		t.Fatal(err)
	}
	var exit *exec.ExitError
	if err := cmd.Wait(); !errors.As(err, &exit) {
		t.Fatal(err)
	}
	if n := strings.Count(must(t, "export", "--db", db).out, `"type":"Feature"`); n != 0 {
		t.Errorf("%d wells of a killed import show", n)
	}
	if r := do(t, "check", "--db", db); r.code != exitOK || !strings.Contains(r.out, "never finished") {
		t.Errorf("check ends with %d and says %s", r.code, r.out)
	}
	source := filepath.Join(t.TempDir(), "wells.ndjson")
	if err := os.WriteFile(source, []byte(wells(5000)), 0o600); err != nil {
		t.Fatal(err)
	}
	if r := must(t, "import", "--db", db, source); !strings.HasPrefix(r.lastLine(), "5000 read, 5000 accepted") {
		t.Errorf("%s", r.lastLine())
	}
	must(t, "check", "--db", db)
}

func rawCount(t *testing.T, path, query string) (n int) {
	t.Helper()
	if _, err := os.Stat(path); err != nil {
		return 0
	}
	db, err := sqlOpen(path)
	if err != nil {
		t.Fatal(err)
	}
	if err := db.QueryRow(query).Scan(&n); err != nil {
		n = 0 // not made yet
	}
	if err := db.Close(); err != nil {
		t.Fatal(err)
	}
	return n
}

// TestFullDisk works on a small file system of its own.
func TestFullDisk(t *testing.T) {
	dir := t.TempDir()
	if runtime.GOOS != "linux" || os.Geteuid() != 0 {
		t.Skip("NOT TESTED: a full disk needs root on Linux, to mount a small file system")
	}
	if err := syscall.Mount("tmpfs", dir, "tmpfs", 0, "size=3m"); err != nil {
		t.Skipf("NOT TESTED: a full disk: no small file system can be mounted here: %v", err)
	}
	defer func() {
		if err := syscall.Unmount(dir, 0); err != nil {
			t.Error(err)
		}
	}()
	db := filepath.Join(dir, "c.db")
	must(t, "import", "--db", db, file(t, "a.ndjson", wells(200)))
	r := do(t, "import", "--db", db, file(t, "b.ndjson", strings.ReplaceAll(wells(20000), "W-", "B-")))
	if r.code != exitTooLarge || !strings.Contains(r.err, "the disk is full") || r.out != "" {
		t.Errorf("import ends with %d and says %q, prints %q", r.code, r.err, r.out)
	}
	large := county(t, 20000)
	for _, name := range []string{"out.geojson", "out.csv"} {
		r := do(t, "export", "--db", large, "--out", filepath.Join(dir, name))
		if r.code != exitTooLarge || !strings.Contains(r.err, "the disk is full") {
			t.Errorf("export of %s ends with %d and says %q", name, r.code, r.err)
		}
	}
	r = do(t, "surface", "--db", large, "--method", "idw", "--everywhere", "--grid", "1500x1500", "--out", filepath.Join(dir, "s.asc"))
	if r.code != exitTooLarge || !strings.Contains(r.err, "the disk is full") {
		t.Errorf("surface ends with %d and says %q", r.code, r.err)
	}
	r = do(t, "import", "--db", filepath.Join(t.TempDir(), "d.db"), "--refused", filepath.Join(dir, "refused"), file(t, "c.ndjson", strings.Repeat(strings.Replace(well(0, `"x":"`+strings.Repeat("y", 500)+`"`), "[-40", "[-400", 1)+"\n", 9000)))
	if r.code != exitTooLarge || !strings.Contains(r.err, "the disk is full") {
		t.Errorf("refused rows: ends with %d and says %.300q", r.code, r.err)
	}
	onlyHolds(t, dir, "c.db", "c.db-wal", "c.db-shm")
	if n := strings.Count(must(t, "export", "--db", db).out, `"type":"Feature"`); n != 200 {
		t.Errorf("%d wells, want the 200 of before", n)
	}
}

// TestNoPermission works as somebody who may not.
func TestNoPermission(t *testing.T) {
	if os.Geteuid() != 0 {
		t.Skip("NOT TESTED: as root another person can be played")
	}
	dir, err := os.MkdirTemp("", "tallybook-shut-") // t.TempDir cannot be entered by others
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() {
		if err := os.RemoveAll(dir); err != nil {
			t.Error(err)
		}
	})
	path := filepath.Join(dir, "tallybook")
	binary, err := os.ReadFile(ownBinary(t))
	if err := errors.Join(err, os.Chmod(dir, 0o755), os.WriteFile(path, binary, 0o755)); err != nil {
		t.Fatal(err)
	}
	db, source := filepath.Join(dir, "c.db"), filepath.Join(dir, "w.ndjson")
	must(t, "import", "--db", db, file(t, "a.ndjson", wells(3)))
	if err := errors.Join(os.WriteFile(source, []byte(wells(3)), 0o644), os.Chmod(source, 0o644)); err != nil {
		t.Fatal(err)
	}
	as := func(mode os.FileMode, args ...string) (int, string) {
		t.Helper()
		if err := os.Chmod(db, mode); err != nil {
			t.Fatal(err)
		}
		cmd := programFor(path, args...)
		cmd.Dir = dir
		cmd.SysProcAttr = &syscall.SysProcAttr{Credential: &syscall.Credential{Uid: 65534, Gid: 65534}}
		out, err := cmd.CombinedOutput()
		var exit *exec.ExitError
		if err != nil && !errors.As(err, &exit) {
			t.Fatal(err)
		}
		return cmd.ProcessState.ExitCode(), string(out)
	}
	for _, c := range []struct {
		name  string
		mode  os.FileMode
		words string
		args  []string
	}{
		{"not readable", 0o600, "may not be read", []string{"check", "--db", db}},
		{"not writable", 0o644, "written", []string{"import", "--db", db, source}},
		{"not readable, served", 0o600, "may not be read", []string{"serve", "--db", db, "--addr", "127.0.0.1:0"}},
		{"a new one in a folder that is not ours", 0o644, "cannot be made there", []string{"import", "--db", filepath.Join(dir, "new.db"), source}},
	} {
		if code, said := as(c.mode, c.args...); code != exitForbidden || !strings.Contains(said, c.words) {
			t.Errorf("%s: ends with %d and says %q", c.name, code, said)
		}
	}
	if err := os.Chmod(source, 0o600); err != nil {
		t.Fatal(err)
	}
	if code, said := as(0o644, "import", "--db", filepath.Join(os.TempDir(), "tallybook-never.db"), source); code == exitOK || !strings.Contains(said, "cannot be opened") {
		t.Errorf("a source that may not be read: ends with %d and says %q", code, said)
	}
}

// TestWithoutC: a build without a C compiler stops with one sentence.
func TestWithoutC(t *testing.T) {
	if testing.Short() {
		t.Skip("builds the program")
	}
	cmd := exec.Command("go", "build", "-o", os.DevNull, ".")
	cmd.Env = append(os.Environ(), "CGO_ENABLED=0")
	out, err := cmd.CombinedOutput()
	if err == nil {
		t.Fatal("it builds without C: such a program cannot open a file")
	}
	said := string(out)
	if strings.Count(strings.TrimSpace(said), "\n") > 1 || !strings.Contains(said, "tallybook needs a C compiler: install gcc") || strings.Contains(said, "undefined") {
		t.Errorf("it says\n%s", said)
	}
}

// TestManyFeatures: a hundred thousand, which is where what grows with the
// file would be seen.
func TestManyFeatures(t *testing.T) {
	if testing.Short() {
		t.Skip("takes a while")
	}
	source := filepath.Join(t.TempDir(), "many.ndjson")
	f, err := os.Create(source)
	if err != nil {
		t.Fatal(err)
	}
	w := bufio.NewWriter(f)
	const n = 100_000
	for i := range n {
		if _, err := fmt.Fprintln(w, well(i%7000, fmt.Sprintf(`"permit_number":"%d"`, i))); err != nil {
			t.Fatal(err)
		}
	}
	if err := errors.Join(w.Flush(), f.Close()); err != nil {
		t.Fatal(err)
	}
	db := filepath.Join(t.TempDir(), "c.db")
	if r := must(t, "import", "--db", db, source); r.lastLine() != "100000 read, 100000 accepted, 0 of them with warnings, 0 refused" {
		t.Errorf("%s", r.lastLine())
	}
	out := filepath.Join(t.TempDir(), "out.ndjson")
	must(t, "export", "--db", db, "--out", out)
	if got := strings.Count(read(t, out), "\n"); got != n {
		t.Errorf("%d lines come out", got)
	}
}
