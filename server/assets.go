package server

import (
	"crypto/sha256"
	"encoding/hex"
	"fmt"
	"io/fs"
	"mime"
	"net/http"
	"path"
	"strings"

	"github.com/gorilla/mux"

	"tallybook/static"
)

// assets are the style sheets, scripts and icons, each at an address that
// holds a hash of its content, so that browsers may keep it for good.
type assets struct {
	byName map[string]asset
}

type asset struct {
	data []byte
	kind string
	hash string
}

func loadAssets() (*assets, error) {
	a := &assets{byName: map[string]asset{}}
	err := fs.WalkDir(static.FS, ".", func(name string, d fs.DirEntry, err error) error {
		if err != nil || d.IsDir() {
			return err
		}
		data, err := static.FS.ReadFile(name)
		if err != nil {
			return err
		}
		sum := sha256.Sum256(data)
		kind := mime.TypeByExtension(path.Ext(name))
		if path.Ext(name) == ".js" {
			kind = "text/javascript; charset=utf-8"
		}
		a.byName[name] = asset{data: data, kind: kind, hash: hex.EncodeToString(sum[:6])}
		return nil
	})
	return a, err
}

// URL is the address of a file of package static. A module that imports
// another names it by the address without a hash.
func (a *assets) URL(name string) (string, error) {
	f, ok := a.byName[name]
	if !ok {
		return "", fmt.Errorf("no static file %q", name)
	}
	return "/static/" + f.hash + "/" + name, nil
}

// serve answers /static/{hash}/{name}. The hash of any file of the set is
// taken, so that modules reach each other by relative addresses; a file that
// has its own hash may be kept for good.
func (a *assets) serve(w http.ResponseWriter, r *http.Request) {
	v := mux.Vars(r)
	f, ok := a.byName[v["name"]]
	if !ok {
		http.NotFound(w, r)
		return
	}
	w.Header().Set("Content-Type", f.kind)
	w.Header().Set("ETag", `"`+f.hash+`"`)
	if v["hash"] == f.hash {
		w.Header().Set("Cache-Control", "public, max-age=31536000, immutable")
	} else {
		w.Header().Set("Cache-Control", "no-cache")
	}
	if strings.Contains(r.Header.Get("If-None-Match"), f.hash) {
		w.WriteHeader(http.StatusNotModified)
		return
	}
	if _, err := w.Write(f.data); err != nil {
		return // the reader went away
	}
}
