//go:build !unix

package wasmcache

import "errors"

// shared says that users of this platform share one temporary directory. On Windows each user has one of his own.
const shared = false

func privateFolder(func() (string, error)) (string, error) {
	return "", errors.New("no private folder is needed here")
}
