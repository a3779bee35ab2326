package wire

import "encoding/binary"

// Exceptions of the table of exception codes of the specification.
const (
	noSuchFunction = 1
	noSuchRegister = 2
	noSuchCount    = 3
	mostRegisters  = 125 // that one request may ask for
)

// AppendAnswers appends what an instrument with that value answers to the
// requests for registers in what it has heard, and gives what of that may be the
// beginning of another one. It holds no other registers: they are refused with
// an exception, as other functions are whose requests have the same length.
// What is for others on the line, or damaged, is left unanswered.
func (c ModbusConfig) AppendAnswers(dst, heard []byte, value uint32) (answers, rest []byte) {
	for len(heard) >= modbusRequest {
		f := heard[:modbusRequest]
		if !soundModbus(f) {
			heard = heard[1:]
			continue
		}
		heard = heard[modbusRequest:]
		if f[0] == byte(c.Address) {
			dst = c.answer(dst, f, value)
		}
	}
	return dst, heard
}

// answer appends the answer to one request.
func (c ModbusConfig) answer(dst, request []byte, value uint32) []byte {
	from, count := int(binary.BigEndian.Uint16(request[2:])), int(binary.BigEndian.Uint16(request[4:]))
	exception := byte(0)
	switch {
	case request[1] != c.function():
		exception = noSuchFunction
	case count < 1 || count > mostRegisters:
		exception = noSuchCount
	case from < c.Register || from+count > c.Register+c.registers():
		exception = noSuchRegister
	}
	begin := len(dst)
	if exception != 0 {
		dst = append(dst, request[0], request[1]|exceptionBit, exception)
	} else {
		registers := c.held(value)[2*(from-c.Register):]
		dst = append(append(dst, request[0], request[1], byte(2*count)), registers[:2*count]...)
	}
	return binary.LittleEndian.AppendUint16(dst, crcModbus(dst[begin:]))
}

// held are the registers that hold a value.
func (c ModbusConfig) held(value uint32) []byte {
	v := binary.BigEndian.AppendUint32(nil, value)[4-2*c.registers():]
	c.reorder(v)
	return v
}
