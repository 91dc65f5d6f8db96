package browsertest

import (
	"context"
	"crypto/sha512"
	"encoding/base64"
	"errors"
	"fmt"
	"io"
	"net/http"
	"os"
	"os/exec"
	"path/filepath"
	"testing"
	"time"

	"github.com/chromedp/chromedp"
	"github.com/stretchr/testify/require"
)

// axe-core (MPL-2.0) comes from the npm registry. It is fetched once into .cache and
// never committed.
const (
	axeVersion   = "4.14.1"
	axeIntegrity = "FHfa+lmNjQZfJz1q8wKqIDwC6DExcHt/pkjNQb09a3NPjCKg2rhu5qb2S4r76ASyFNNtuFooJpZe37OgudVGtQ=="
)

// Axe is the script of the accessibility engine axe-core.
func Axe(t testing.TB) string {
	t.Helper()
	dir := filepath.Join(top, ".cache", "npm")
	require.NoError(t, os.MkdirAll(dir, 0o777))
	archive := filepath.Join(dir, "axe-core-"+axeVersion+".tgz")
	if _, err := os.Stat(archive); err != nil {
		require.NoError(t, fetch(archive), "axe-core cannot be had from the npm registry, and no accessibility is checked without it")
	}
	data, err := os.ReadFile(archive)
	require.NoError(t, err)
	sum := sha512.Sum512(data)
	require.Equal(t, axeIntegrity, base64.StdEncoding.EncodeToString(sum[:]), "%s is not what was published; remove it", archive)
	script, err := exec.Command("tar", "-xzOf", archive, "package/axe.min.js").Output()
	require.NoError(t, err)
	return string(script)
}

// fetch gets the archive from the registry, whole or not at all: packages are tested
// side by side.
func fetch(archive string) error {
	const address = "https://registry.npmjs.org/axe-core/-/axe-core-" + axeVersion + ".tgz"
	client := http.Client{Timeout: 2 * time.Minute}
	r, err := client.Get(address)
	if err != nil {
		return err
	}
	defer r.Body.Close()
	if r.StatusCode != http.StatusOK {
		return fmt.Errorf("%s: %s", address, r.Status)
	}
	part, err := os.CreateTemp(filepath.Dir(archive), "part-")
	if err != nil {
		return err
	}
	defer os.Remove(part.Name())
	_, err = io.Copy(part, r.Body)
	if err := errors.Join(err, part.Close()); err != nil {
		return err
	}
	return os.Rename(part.Name(), archive)
}

// Violations runs axe over what a window shows, by every rule of WCAG 2.2 AA and axe's
// best practices, and returns what offends against them. That fewer than least rules
// applied is among it: then there was nothing to see.
func Violations(window context.Context, axe string, least int) ([]string, error) {
	if there, err := Run(window, chromedp.Evaluate[bool](`"axe" in window`)); err != nil {
		return nil, err
	} else if !there {
		if _, err := Run(window, chromedp.Evaluate[chromedp.Void](axe)); err != nil {
			return nil, err
		}
	}
	return Run(window, chromedp.Evaluate[[]string](fmt.Sprintf(`axe.run(document, { runOnly: ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa", "best-practice"] }).then((r) => {
		if (r.passes.length < %d) return ["only " + r.passes.length + " rules applied"];
		return r.violations.map((v) => v.id + ": " + v.help + ": " + v.nodes.map((n) => n.html.slice(0, 200) + " " + n.failureSummary).join(" | "));
	})`, least), chromedp.EvalAwaitPromise))
}
