//go:build unix

package wasmcache

// PrivateFolder is for the tests, which stand outside the package: a test inside it would give the package imports that
// change when it is initialised.
var PrivateFolder = privateFolder
