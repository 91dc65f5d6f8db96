// Package hand is empty: what it held is in draw. It stays until no check names it.
package hand
