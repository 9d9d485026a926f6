package heap_test

import (
	"bytes"
	"os"
	"runtime"
	"runtime/debug"
	"runtime/metrics"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"ferrule/cmd/ferrule/internal/heap"
)

// percent is what the collector works by.
func percent() uint64 {
	sample := []metrics.Sample{{Name: "/gc/gogc:percent"}}
	metrics.Read(sample)
	return sample[0].Value.Uint64()
}

// environment answers as a process does that has one variable set.
func environment(name string) func(string) string {
	return func(asked string) string {
		if asked == name {
			return "50"
		}
		return ""
	}
}

func TestWhatTheUserHasSetStays(t *testing.T) {
	before := debug.SetGCPercent(50)
	defer debug.SetGCPercent(before)
	for _, name := range []string{"GOGC", "GOMEMLIMIT"} {
		heap.Prepare(environment(name))
		assert.EqualValues(t, 50, percent(), name)
	}
}

// The first collection is put off, and the one after that comes when it comes in every program.
func TestOnlyTheFirstCollectionIsPutOff(t *testing.T) {
	setting, err := os.ReadFile("/sys/kernel/mm/transparent_hugepage/enabled")
	if err != nil || bytes.Contains(setting, []byte("[never]")) {
		t.Skip("the system gives no large pages, so nothing is set")
	}
	before := debug.SetGCPercent(100)
	defer debug.SetGCPercent(before)
	heap.Prepare(environment(""))
	require.Eventually(t, func() bool { return percent() == 1200 }, 10*time.Second, time.Millisecond, "once the room has been given back")
	var memory runtime.MemStats
	runtime.ReadMemStats(&memory)
	assert.Less(t, memory.HeapAlloc, uint64(20<<20), "the room must have been given back")
	assert.Greater(t, memory.NextGC, uint64(40<<20))
	require.Eventually(t, func() bool { runtime.GC(); return percent() == 100 }, 10*time.Second, time.Millisecond)
}
