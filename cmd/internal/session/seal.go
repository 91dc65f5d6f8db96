package session

import (
	"crypto/aes"
	"crypto/cipher"
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"errors"
)

// A remembered reading holds words that people wrote: in their priors, their rule books,
// their marks. It is therefore sealed: encrypted with AES-GCM under a key that is derived
// from all that the reading depends on and is stored nowhere. Whoever has the take, the
// marks and the question can open it. The file alone says only which take it is of, so
// that it can be removed with that take.

// rowKey is derived from all that a row's reading depends on. The zero value is no key.
type rowKey struct {
	name string   // of the file, in hexadecimal
	seal [32]byte // the AES-256 key
}

// newRowKey returns the key of a reading made by a program from a take with this SHA-256.
func newRowKey(program, takeSum string, dependsOn []byte) (rowKey, error) {
	all, err := json.Marshal(struct {
		Program, Take string
		DependsOn     []byte
	}{program, takeSum, dependsOn})
	if err != nil {
		return rowKey{}, err
	}
	name := sha256.Sum256(append([]byte("name\n"), all...))
	return rowKey{hex.EncodeToString(name[:]), sha256.Sum256(append([]byte("seal\n"), all...))}, nil
}

// sealedFile is the JSON of a remembered file.
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

// encrypt seals data about the take with this SHA-256.
func (k rowKey) encrypt(take string, data []byte) ([]byte, error) {
	c, err := k.cipher()
	if err != nil {
		return nil, err
	}
	return json.Marshal(sealedFile{take, c.Seal(nil, nil, data, []byte(take))})
}

// decrypt returns the data of a sealed file. A file that was altered or cut short is an error.
func (k rowKey) decrypt(file []byte) ([]byte, error) {
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
