"""An instrument that speaks Modbus RTU, played by pymodbus (Debian's
python3-pymodbus and python3-serial-asyncio), which shares no code with tautlog.

    serve_registers.py PORT [--address 17] [--baud 19200] [--slow SECONDS]

It serves a serial line that exists already, such as one end of a pair that
socat makes, and prints "ready". Holding and input registers hold the same:

  0        a clock: uint32, ABCD, milliseconds since the Unix epoch modulo
           1,000,000,000, read when the request is answered: who reads it knows
           when it was taken
  10 + 4k  int32 -123456789, k = 0..3 in the orders ABCD, CDAB, BADC, DCBA
  30 + 4k  float32 -1234.5, the same
  50 + 4k  uint32 4000000000, the same
  70       int16 -12345;  71 the same with its bytes swapped
  72       uint16 54321
  up to 99; from 100 on there is nothing, and exception 2 is answered

--slow waits so long before each answer.
"""
import argparse
import time

from pymodbus.constants import Endian
from pymodbus.datastore import ModbusSequentialDataBlock, ModbusServerContext, ModbusSlaveContext
from pymodbus.payload import BinaryPayloadBuilder
from pymodbus.server import StartSerialServer
from pymodbus.transaction import ModbusRtuFramer

ORDERS = [(Endian.Big, Endian.Big), (Endian.Big, Endian.Little), (Endian.Little, Endian.Big), (Endian.Little, Endian.Little)]


def registers():
    block = [0] * 100
    for k, (byte, word) in enumerate(ORDERS):
        for at, add, value in [
            (10, "add_32bit_int", -123456789),
            (30, "add_32bit_float", -1234.5),
            (50, "add_32bit_uint", 4000000000),
        ]:
            b = BinaryPayloadBuilder(byteorder=byte, wordorder=word)
            getattr(b, add)(value)
            block[at + 4 * k: at + 4 * k + 2] = b.to_registers()
    for at, byte in [(70, Endian.Big), (71, Endian.Little)]:
        b = BinaryPayloadBuilder(byteorder=byte, wordorder=Endian.Big)
        b.add_16bit_int(-12345)
        block[at] = b.to_registers()[0]
    block[72] = 54321
    return block


class Block(ModbusSequentialDataBlock):
    slow = 0.0

    def getValues(self, address, count=1):
        if self.slow:
            time.sleep(self.slow)
        if address == 0:
            ms = time.time_ns() // 1_000_000 % 1_000_000_000
            self.values[0:2] = [ms >> 16, ms & 0xFFFF]
        return super().getValues(address, count)


p = argparse.ArgumentParser()
p.add_argument("port")
p.add_argument("--address", type=int, default=17)
p.add_argument("--baud", type=int, default=19200)
p.add_argument("--slow", type=float, default=0)
o = p.parse_args()
Block.slow = o.slow
unit = ModbusSlaveContext(hr=Block(0, registers()), ir=Block(0, registers()), zero_mode=True)
print("ready", flush=True)
StartSerialServer(
    context=ModbusServerContext(slaves={o.address: unit}, single=False),
    framer=ModbusRtuFramer, port=o.port, baudrate=o.baud, timeout=0.005,
)
