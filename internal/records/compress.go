package records

import (
	"bytes"
	"crypto/sha256"
	"errors"
	"fmt"
	"sync"

	"github.com/klauspost/compress/zstd"

	"wetside/internal/lab"
)

// maxRecord bounds what a record may unpack to.
const maxRecord = 512 << 20

var packer = sync.OnceValue(func() *zstd.Encoder {
	e, err := zstd.NewWriter(nil, zstd.WithEncoderConcurrency(1), zstd.WithEncoderLevel(zstd.SpeedDefault))
	if err != nil {
		panic(fmt.Sprintf("records: the compressor does not start: %v", err)) // its options are constant
	}
	return e
})

var unpacker = sync.OnceValue(func() *zstd.Decoder {
	d, err := zstd.NewReader(nil, zstd.WithDecoderConcurrency(2), zstd.WithDecoderMaxMemory(maxRecord))
	if err != nil {
		panic(fmt.Sprintf("records: the decompressor does not start: %v", err)) // as above
	}
	return d
})

func pack(b []byte) []byte { return packer().EncodeAll(b, nil) }

func unpack(b []byte) ([]byte, error) {
	out, err := unpacker().DecodeAll(b, nil)
	if err != nil {
		return nil, fmt.Errorf("it does not decompress: %w", err)
	}
	return out, nil
}

// Unpack gives the record as it was hashed.
func Unpack(r lab.StoredRecord) ([]byte, error) {
	b, err := unpackWhole(r.Packed, r.PackedHash)
	if err != nil {
		return nil, fmt.Errorf("record of run %s: %w", r.RunID, err)
	}
	return b, nil
}

// unpackPart gives the part as it was hashed.
func unpackPart(p lab.StoredPart) ([]byte, error) {
	b, err := unpackWhole(p.Packed, p.PackedHash)
	if err != nil {
		return nil, fmt.Errorf("part %d of the record of run %s: %w", p.N, p.RunID, err)
	}
	return b, nil
}

func unpackWhole(packed, hash []byte) ([]byte, error) {
	if sum := sha256.Sum256(packed); !bytes.Equal(sum[:], hash) {
		return nil, errors.New("its compressed bytes are not those that were stored")
	}
	return unpack(packed)
}
