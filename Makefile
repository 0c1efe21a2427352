# The one gate is 'make check'; 'make test' is check and the outside judges,
# after installing what they need. Under the race detector the few tests that
# take minutes are left to the judges' run (-short), which leaves out none.
STATICCHECK = honnef.co/go/tools/cmd/staticcheck@v0.8.2

.PHONY: test check judges race bench fuzz format

test: check judges

check:
	@out=$$(gofmt -l cmd geo records server static migrations); test -z "$$out" || { echo "gofmt: $$out"; exit 1; }
	go vet ./... && go vet -tags judges ./...
	go run $(STATICCHECK) ./... && go run $(STATICCHECK) -tags judges ./...
	go test -race -short -timeout 40m ./...

# Programs from outside hold us to account: GDAL, SpatiaLite, R, GeographicLib
# and a real browser. One that is missing fails its test.
judges:
	bash .ci/need
	node --test static/*.test.mjs
	go test -tags judges -count=1 -timeout 40m ./...

# Everything under the race detector, the long tests too.
race:
	go test -race -timeout 90m ./...

bench:
	go test -run '^$$' -bench . -benchtime=300ms ./...

# Every parser of untrusted text, FUZZTIME each.
FUZZTIME = 30s
fuzz:
	@for f in $$(grep -rlE '^func Fuzz' --include='*_test.go' .); do \
	  for t in $$(grep -hoE '^func Fuzz[A-Za-z0-9_]+' $$f | sed 's/func //'); do \
	    echo "$$t in $$(dirname $$f)"; go test -run '^$$' -fuzz "^$$t$$" -fuzztime $(FUZZTIME) $$(dirname $$f) || exit 1; \
	  done; done

format:
	gofmt -w cmd geo records server static migrations
