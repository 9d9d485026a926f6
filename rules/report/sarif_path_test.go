package report

import (
	"net/url"
	"testing"

	"github.com/stretchr/testify/assert"
)

// TestEscapedPath holds the escaping of file names against net/url of the standard library, for every byte there is and
// for names as people give them.
func TestEscapedPath(t *testing.T) {
	paths := []string{"", "pickup.toml", "examples/pickup/lights.toml", "my truck/100 %.toml", "Stromlaufpläne/größe.toml", "日本.toml", "?#[]"}
	for c := range 256 {
		paths = append(paths, "a"+string([]byte{byte(c)})+"z")
	}
	for _, path := range paths {
		assert.Equal(t, (&url.URL{Path: path}).EscapedPath(), escaped(path), "%q", path)
	}
	assert.Equal(t, "my%20truck/100%20%25.toml", escaped("my truck/100 %.toml"))
}
