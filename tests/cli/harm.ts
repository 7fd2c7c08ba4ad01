import fc from 'fast-check';

const { byte, at, share } = {
  byte: fc.nat(255),
  at: fc.nat(5000),
  share: fc.double({ min: 0, max: 1, noNaN: true }),
};
/** Does something to the bytes of a sealed entry; `others` are those of all entries beside it. */
export type Harm = (bytes: Buffer, others: readonly Buffer[]) => Uint8Array;
export const harm: fc.Arbitrary<Harm> = fc.oneof(
  fc.tuple(at, byte).map(
    ([i, value]): Harm =>
      (bytes) => {
        bytes[i % bytes.length] = value;
        return bytes;
      },
  ),
  share.map(
    (part): Harm =>
      (bytes) =>
        bytes.subarray(0, Math.floor(bytes.length * part)),
  ),
  fc.uint8Array({ maxLength: 300 }).map(
    (noise): Harm =>
      () =>
        noise,
  ),
  fc.nat(9).map(
    (i): Harm =>
      (_, others) =>
        others[i % others.length]!,
  ),
  // The seal of one with the findings of another.
  fc.nat(9).map(
    (i): Harm =>
      (bytes, others) => {
        const other = others[i % others.length]!;
        return Buffer.concat([bytes.subarray(0, bytes.indexOf(10)), other.subarray(other.indexOf(10))]);
      },
  ),
  fc.constant<Harm>((bytes) =>
    Buffer.from(bytes.toString().replace(/"findings":\[.*?\],"(prints|names)"/, '"findings":[],"$1"')),
  ),
  fc.constant<Harm>((bytes) => Buffer.concat([bytes, bytes])),
);
