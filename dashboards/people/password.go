package people

import (
	"crypto/rand"
	"crypto/subtle"
	"encoding/base64"
	"fmt"
	"strings"
	"unicode/utf8"

	"golang.org/x/crypto/argon2"
)

// Cost of a hash: the second recommended option of RFC 9106, section 4, for
// where memory is scarce. A small headless computer has the 64 MiB.
const (
	passes    = 3
	memoryKiB = 64 << 10
	lanes     = 4
	saltBytes = 16
	hashBytes = 32
)

// Lengths of a password. The least is that of NIST SP 800-63B, section
// 5.1.1.2, which asks for no mixture of letters and digits; the most only keeps
// a request small.
const (
	LeastLetters = 8
	mostBytes    = 256
)

// phc is a hash as text, in the form of the Password Hashing Competition.
const phc = "$argon2id$v=%d$m=%d,t=%d,p=%d$"

// hashPassword gives what is kept of a password.
func hashPassword(password string) (string, error) {
	if utf8.RuneCountInString(password) < LeastLetters {
		return "", refused(ErrWeak, "door.short", LeastLetters)
	}
	if len(password) > mostBytes || !utf8.ValidString(password) {
		return "", refused(ErrWeak, "door.long", mostBytes)
	}
	salt := make([]byte, saltBytes)
	_, _ = rand.Read(salt) // never fails: crypto/rand ends the program instead
	sum := argon2.IDKey([]byte(password), salt, passes, memoryKiB, lanes, hashBytes)
	enc := base64.RawStdEncoding
	return fmt.Sprintf(phc, argon2.Version, memoryKiB, passes, lanes) + enc.EncodeToString(salt) + "$" + enc.EncodeToString(sum), nil
}

// checkPassword says whether password is the one of hash. What is no hash of
// ours is no password's, and takes as long to find out.
func checkPassword(hash, password string) bool {
	head := fmt.Sprintf(phc, argon2.Version, memoryKiB, passes, lanes)
	saltText, sumText, _ := strings.Cut(strings.TrimPrefix(hash, head), "$")
	enc := base64.RawStdEncoding
	salt, saltErr := enc.DecodeString(saltText)
	sum, sumErr := enc.DecodeString(sumText)
	ours := strings.HasPrefix(hash, head) && saltErr == nil && sumErr == nil && len(salt) == saltBytes && len(sum) == hashBytes
	if !ours {
		salt, sum = make([]byte, saltBytes), make([]byte, hashBytes)
	}
	got := argon2.IDKey([]byte(password), salt, passes, memoryKiB, lanes, hashBytes)
	return subtle.ConstantTimeCompare(got, sum) == 1 && ours
}
