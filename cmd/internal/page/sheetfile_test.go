package page_test

import (
	"net/http"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"ecart/cmd/internal/demotake"
)

// A sheet for each reader is saved from the page; a parent's has the head covered, and
// none names the take.
func TestSheetsAreSaved(t *testing.T) {
	t.Parallel()
	clip, _ := demotake.Files()
	a := start(t, t.TempDir()).enter()
	id := a.takeIn("lena_petersen.mp4", clip)
	require.Equal(t, http.StatusOK, a.do("PUT", "/takes/"+id+"/work", strings.NewReader(workOn(43, 0))).status)
	for reader, want := range map[string]string{"judge": "the rule, in our own words", "athlete": "what this page cannot say", "parent": "The face is covered."} {
		got := a.do("GET", "/takes/"+id+"/frames/43/sheet.html?for="+reader+"&who=Si%3Cb%3Eskin", nil)
		require.Equal(t, http.StatusOK, got.status, "%s", got.body)
		page := string(got.body)
		assert.Contains(t, page, want)
		assert.Contains(t, page, ">Si&lt;b&gt;skin<")
		assert.NotContains(t, page, "lena")
		assert.Equal(t, reader == "parent", strings.Contains(page, "The face is covered."))
	}
	for _, bad := range []string{"?for=coach", "", "?for="} {
		got := a.do("GET", "/takes/"+id+"/frames/43/sheet.html"+bad, nil)
		assert.Equal(t, http.StatusBadRequest, got.status)
		assert.Contains(t, string(got.body), "hint")
	}
	assert.NotEqual(t, http.StatusOK, a.do("GET", "/takes/"+id+"/frames/7/sheet.html?for=judge", nil).status, "nothing is marked there")
}
