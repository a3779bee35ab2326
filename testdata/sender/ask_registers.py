"""A program that asks a Modbus RTU instrument, by pymodbus (Debian's
python3-pymodbus), which shares no code with tautlog.

    ask_registers.py PORT

It reads questions from standard input, one a line:

    ADDRESS FUNCTION REGISTER COUNT TYPE ORDER

FUNCTION is 3 or 4, TYPE int16, uint16, int32, uint32 or float32 and ORDER AB,
BA, ABCD, CDAB, BADC or DCBA. It prints the value that came, or "exception N",
or "nothing" where no answer came in three seconds.
"""
import sys

from pymodbus.client import ModbusSerialClient
from pymodbus.constants import Endian
from pymodbus.payload import BinaryPayloadDecoder
from pymodbus.pdu import ExceptionResponse
from pymodbus.transaction import ModbusRtuFramer

ORDERS = {
    "AB": (Endian.Big, Endian.Big), "BA": (Endian.Little, Endian.Big),
    "ABCD": (Endian.Big, Endian.Big), "CDAB": (Endian.Big, Endian.Little),
    "BADC": (Endian.Little, Endian.Big), "DCBA": (Endian.Little, Endian.Little),
}
DECODE = {
    "int16": "decode_16bit_int", "uint16": "decode_16bit_uint", "int32": "decode_32bit_int",
    "uint32": "decode_32bit_uint", "float32": "decode_32bit_float",
}

client = ModbusSerialClient(sys.argv[1], framer=ModbusRtuFramer, baudrate=19200, timeout=3, retries=0)
if not client.connect():
    sys.exit("cannot open " + sys.argv[1])
for question in sys.stdin:
    address, function, register, count, kind, order = question.split()
    read = client.read_holding_registers if function == "3" else client.read_input_registers
    answer = read(int(register), int(count), slave=int(address))
    if isinstance(answer, ExceptionResponse):
        says = "exception %d" % answer.exception_code
    elif answer.isError():
        says = "nothing"
        client.close()
        client.connect()
    else:
        byte, word = ORDERS[order]
        decoder = BinaryPayloadDecoder.fromRegisters(answer.registers, byteorder=byte, wordorder=word)
        says = str(getattr(decoder, DECODE[kind])())
    print(says, flush=True)
client.close()
