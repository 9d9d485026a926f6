package all_test

import (
	"os"
	"path"
	"testing"

	"github.com/stretchr/testify/require"

	"ferrule/rules/rulestest"
)

// TestExamples checks every example harness: what is to be found in it stands in its files, to the column; where nothing
// is said, nothing is found.
func TestExamples(t *testing.T) {
	folders, err := os.ReadDir("../../examples")
	require.NoError(t, err)
	count := 0
	for _, f := range folders {
		if f.IsDir() {
			count++
			t.Run(f.Name(), func(t *testing.T) {
				rulestest.Example(t, os.DirFS(path.Join("../../examples", f.Name())), f.Name()+".toml")
			})
		}
	}
	require.NotZero(t, count, "there are no examples")
}
