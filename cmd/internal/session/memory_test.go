package session

import (
	"encoding/json"
	"os"
	"slices"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// A remembered reading that no run has used for forgetAfter is removed.
func TestMemoryForgets(t *testing.T) {
	t.Setenv("XDG_CACHE_HOME", t.TempDir())
	m, err := OpenMemory()
	require.NoError(t, err)
	for name, old := range map[string]time.Duration{"old": forgetAfter + time.Hour, "new": forgetAfter - time.Hour} {
		require.NoError(t, os.WriteFile(m.path(name), []byte("{}"), 0o600))
		at := time.Now().Add(-old)
		require.NoError(t, os.Chtimes(m.path(name), at, at))
	}
	_, err = OpenMemory()
	require.NoError(t, err)
	assert.NoFileExists(t, m.path("old"))
	assert.FileExists(t, m.path("new"))
}

// Another program, take or question gives another file and another AES key. A sealed file
// opens with its own key only, and not after a byte of it or its take's sum was changed.
func TestKey(t *testing.T) {
	key := func(program, take, dependsOn string) rowKey {
		k, err := newRowKey(program, take, []byte(dependsOn))
		require.NoError(t, err)
		return k
	}
	k := key("1", "take", "question")
	assert.Equal(t, k, key("1", "take", "question"))
	file, err := k.encrypt("take", []byte("what was read"))
	require.NoError(t, err)
	got, err := k.decrypt(file)
	require.NoError(t, err)
	assert.Equal(t, "what was read", string(got))
	for _, other := range []rowKey{key("2", "take", "question"), key("1", "taken", "question"), key("1", "take", "questio"), key("1t", "ake", "question")} {
		assert.NotEqual(t, k.name, other.name)
		assert.NotEqual(t, k.seal, other.seal)
		_, err := other.decrypt(file)
		assert.Error(t, err)
	}
	var sealed sealedFile
	require.NoError(t, json.Unmarshal(file, &sealed))
	refused := func(f sealedFile) {
		data, err := json.Marshal(f)
		require.NoError(t, err)
		_, err = k.decrypt(data)
		assert.Error(t, err)
	}
	refused(sealedFile{"taken", sealed.Sealed})
	for i := range sealed.Sealed {
		changed := slices.Clone(sealed.Sealed)
		changed[i] ^= 1
		refused(sealedFile{"take", changed})
		refused(sealedFile{"take", sealed.Sealed[:i]})
	}
}
