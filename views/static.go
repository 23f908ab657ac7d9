package views

import (
	"bytes"
	"compress/gzip"
	"crypto/sha256"
	"embed"
	"encoding/hex"
	"fmt"
	"io/fs"
	"path"
	"strings"
	"sync"
)

//go:embed static
var staticFiles embed.FS

// ContentSecurityPolicy is the header that every page is served with. Nothing is
// inline: no script, no style element, no style attribute, no event attribute.
const ContentSecurityPolicy = "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self' data:; " +
	"connect-src 'self'; worker-src 'self'; form-action 'self'; base-uri 'none'; frame-ancestors 'none'"

// StaticCaching is the Cache-Control header of a static file: its address holds
// its content's hash, so it never changes.
const StaticCaching = "public, max-age=31536000, immutable"

// Asset is a static file as it is served.
type Asset struct {
	Content []byte
	Gzip    []byte // the same content, compressed; nil where that is no smaller
	Type    string // Content-Type
}

// contentTypes are the kinds of file served. They are listed, because the types
// that an operating system knows differ from machine to machine.
var contentTypes = map[string]string{
	".css": "text/css; charset=utf-8", ".js": "text/javascript; charset=utf-8",
	".svg": "image/svg+xml", ".png": "image/png", ".webmanifest": "application/manifest+json",
}

type assets struct {
	paths map[string]string // name to hashed path
	files map[string]Asset  // hashed path to file
}

// readAssets hashes what is embedded, once.
var readAssets = sync.OnceValue(func() assets {
	a := assets{paths: map[string]string{}, files: map[string]Asset{}}
	err := fs.WalkDir(Static(), ".", func(name string, entry fs.DirEntry, err error) error {
		kind := contentTypes[path.Ext(name)]
		if err != nil || entry.IsDir() || kind == "" {
			return err
		}
		content, err := fs.ReadFile(Static(), name)
		if err != nil {
			return err
		}
		sum := sha256.Sum256(content)
		hashed := "/static/" + hex.EncodeToString(sum[:6]) + "/" + name
		a.paths[name] = hashed
		a.files[hashed] = Asset{Content: content, Gzip: compressed(content), Type: kind}
		return nil
	})
	if err != nil {
		panic(fmt.Sprintf("views: reading the embedded static files: %v", err))
	}
	return a
})

func compressed(content []byte) []byte {
	var b bytes.Buffer
	z, _ := gzip.NewWriterLevel(&b, gzip.BestCompression)
	if _, err := z.Write(content); err != nil {
		return nil
	}
	if err := z.Close(); err != nil || b.Len() >= len(content) {
		return nil
	}
	return b.Bytes()
}

// Static gives the static files, such as app.css and
// vendor/leaflet-1.9.4/leaflet.js with its licence beside it.
func Static() fs.FS {
	sub, err := fs.Sub(staticFiles, "static")
	if err != nil {
		panic(err) // the folder is named in the directive above
	}
	return sub
}

// StaticPath gives the address of a static file, with its content's hash:
// /static/1f00ba…/app.css. It returns an error for a file that is not there.
func StaticPath(name string) (string, error) {
	hashed, ok := readAssets().paths[name]
	if !ok {
		return "", fmt.Errorf("there is no static file %q", name)
	}
	return hashed, nil
}

// OpenStatic gives the file at an address that StaticPath made. It does not find
// a file under another version's hash.
func OpenStatic(hashedPath string) (Asset, bool) {
	if !strings.HasPrefix(hashedPath, "/static/") {
		return Asset{}, false
	}
	a, ok := readAssets().files[hashedPath]
	return a, ok
}
