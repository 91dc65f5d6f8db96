package cli

import (
	"crypto/aes"
	"crypto/cipher"
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"errors"
)

// What is remembered of a row holds words that people wrote: in their priors, their
// rule books, their marks. It is therefore sealed: encrypted (AES-GCM) with a key made
// of all that the reading depends on, which is nowhere on the disk as such. Whoever has
// the take, the marks and the question can open it; the file alone says nothing but
// which take it is of, so that it can be forgotten with that take.

// rowKey is made of all that a row's reading depends on. The zero value is none.
type rowKey struct {
	name string   // of the file
	seal [32]byte // what opens it
}

func newRowKey(all []byte) rowKey {
	name := sha256.Sum256(append([]byte("name\n"), all...))
	return rowKey{hex.EncodeToString(name[:]), sha256.Sum256(append([]byte("seal\n"), all...))}
}

// sealedFile is a file of the memory.
type sealedFile struct {
	Take   string `json:"take_sha256"`
	Sealed []byte `json:"sealed"`
}

func (k rowKey) cipher() (cipher.AEAD, error) {
	block, err := aes.NewCipher(k.seal[:])
	if err != nil {
		return nil, err
	}
	return cipher.NewGCMWithRandomNonce(block)
}

// close seals data about a take.
func (k rowKey) close(take string, data []byte) ([]byte, error) {
	c, err := k.cipher()
	if err != nil {
		return nil, err
	}
	return json.Marshal(sealedFile{take, c.Seal(nil, nil, data, []byte(take))})
}

// open gives back what was sealed; a file that was altered or cut off does not open.
func (k rowKey) open(file []byte) ([]byte, error) {
	var s sealedFile
	if err := json.Unmarshal(file, &s); err != nil {
		return nil, err
	}
	c, err := k.cipher()
	if err != nil {
		return nil, err
	}
	if len(s.Sealed) < c.Overhead() {
		return nil, errors.New("too short to be sealed")
	}
	return c.Open(nil, nil, s.Sealed, []byte(s.Take))
}
