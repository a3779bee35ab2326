package wire

import "bytes"

// stuff appends data without any zero byte: consistent overhead byte stuffing
// (S. Cheshire and M. Baker, "Consistent Overhead Byte Stuffing", IEEE/ACM
// Transactions on Networking 7(2), 1999), without the terminator. Data that
// end with a full block of 254 bytes get no empty block behind it.
func stuff(dst, data []byte) []byte {
	for {
		n := bytes.IndexByte(data, 0)
		last := n < 0
		if last {
			n = len(data)
		}
		for n >= 254 {
			dst = append(append(dst, 255), data[:254]...)
			data, n = data[254:], n-254
			if last && n == 0 {
				return dst
			}
		}
		dst = append(append(dst, byte(n+1)), data[:n]...)
		if last {
			return dst
		}
		data = data[n+1:]
	}
}

// unstuff undoes stuff. It takes both forms of data that end with a full
// block, and reports a block that runs over the end. The stuffed bytes must
// hold no zero.
func unstuff(dst, stuffed []byte) ([]byte, bool) {
	for i := 0; i < len(stuffed); {
		code := int(stuffed[i])
		next := i + code
		if next > len(stuffed) {
			return dst, false
		}
		dst = append(dst, stuffed[i+1:next]...)
		if code < 255 && next < len(stuffed) {
			dst = append(dst, 0)
		}
		i = next
	}
	return dst, true
}

// crc16 is CRC-16/CCITT-FALSE: polynomial 0x1021, start 0xFFFF, not
// reflected. The shifts are the polynomial's division of one byte at once.
func crc16(data []byte) uint16 {
	crc := uint16(0xFFFF)
	for _, b := range data {
		x := crc>>8 ^ uint16(b)
		x ^= x >> 4
		crc = crc<<8 ^ x<<12 ^ x<<5 ^ x
	}
	return crc
}
