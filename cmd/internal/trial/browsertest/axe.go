package browsertest

import (
	"context"
	"crypto/sha512"
	"encoding/base64"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/chromedp/chromedp"
	"github.com/stretchr/testify/require"
)

// axe-core (MPL-2.0) is fetched once by the npm client into .cache, and never committed.
const (
	axePackage = "axe-core@4.14.1"
	// axeIntegrity is the SHA-512 of the published archive, in base64 as npm gives it.
	axeIntegrity = "FHfa+lmNjQZfJz1q8wKqIDwC6DExcHt/pkjNQb09a3NPjCKg2rhu5qb2S4r76ASyFNNtuFooJpZe37OgudVGtQ=="
)

// Axe returns the script of the accessibility checker axe-core.
func Axe(t testing.TB) string {
	t.Helper()
	archive := filepath.Join(top, ".cache", "npm", strings.ReplaceAll(axePackage, "@", "-")+".tgz")
	if _, err := os.Stat(archive); err != nil {
		require.NoError(t, fetch(axePackage, archive), "no accessibility is checked without axe-core: '.ci/setup test' installs npm, which fetches it once")
	}
	data, err := os.ReadFile(archive)
	require.NoError(t, err)
	sum := sha512.Sum512(data)
	require.Equal(t, axeIntegrity, base64.StdEncoding.EncodeToString(sum[:]), "%s is not what was published; remove it", archive)
	script, err := exec.Command("tar", "-xzOf", archive, "package/axe.min.js").Output()
	require.NoError(t, err)
	return string(script)
}

// fetch downloads the archive of an npm package, completely or not at all: packages are
// tested at the same time.
func fetch(name, archive string) error {
	dir := filepath.Dir(archive)
	if err := os.MkdirAll(dir, 0o777); err != nil {
		return err
	}
	temp, err := os.MkdirTemp(dir, "fetching-")
	if err != nil {
		return err
	}
	defer os.RemoveAll(temp)
	ctx, end := context.WithTimeout(context.Background(), 2*time.Minute)
	defer end()
	// npm's own cache goes into temp as well: the user may have no home folder to write to
	npm := exec.CommandContext(ctx, "npm", "pack", name, "--pack-destination", ".", "--cache", "cache", "--silent")
	npm.Dir = temp
	if out, err := npm.CombinedOutput(); err != nil {
		return fmt.Errorf("npm pack %s: %w\n%s", name, err, out)
	}
	return os.Rename(filepath.Join(temp, filepath.Base(archive)), archive)
}

// Violations checks the page in a window by every rule of WCAG 2.2 AA and of axe's best
// practices, and returns the violations. That fewer than least rules applied counts as one:
// then the page was empty.
func Violations(window context.Context, axe string, least int) ([]string, error) {
	if loaded, err := Run(window, chromedp.Evaluate[bool](`"axe" in window`)); err != nil {
		return nil, err
	} else if !loaded {
		if _, err := Run(window, chromedp.Evaluate[chromedp.Void](axe)); err != nil {
			return nil, err
		}
	}
	return Run(window, chromedp.Evaluate[[]string](fmt.Sprintf(`axe.run(document, { runOnly: ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa", "best-practice"] }).then((r) => {
		if (r.passes.length < %d) return ["only " + r.passes.length + " rules applied"];
		return r.violations.map((v) => v.id + ": " + v.help + ": " + v.nodes.map((n) => n.html.slice(0, 200) + " " + n.failureSummary).join(" | "));
	})`, least), chromedp.EvalAwaitPromise))
}
