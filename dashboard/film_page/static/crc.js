// CRC-32 as zlib's `crc32` gives it. A page on a plain address of a local network has no digests of the browser's own.

const POLYNOMIAL = 0xedb88320; // of ISO 3309 and zlib, its bits turned round
/** Eight tables, so that eight bytes are taken at a step. */
const TABLES = Array.from({ length: 8 }, () => new Uint32Array(256));
for (let byte = 0; byte < 256; byte++) {
  let crc = byte;
  for (let bit = 0; bit < 8; bit++) crc = crc & 1 ? (crc >>> 1) ^ POLYNOMIAL : crc >>> 1;
  TABLES[0][byte] = crc;
}
for (let byte = 0; byte < 256; byte++) {
  for (let n = 1; n < 8; n++) TABLES[n][byte] = (TABLES[n - 1][byte] >>> 8) ^ TABLES[0][TABLES[n - 1][byte] & 255];
}
const [T0, T1, T2, T3, T4, T5, T6, T7] = TABLES;

/** @param {Uint8Array} bytes */
export function crc32(bytes) {
  let crc = 0xffffffff;
  let at = 0;
  for (const end = bytes.length - 7; at < end; at += 8) {
    const low = crc ^ (bytes[at] | (bytes[at + 1] << 8) | (bytes[at + 2] << 16) | (bytes[at + 3] << 24));
    crc =
      T7[low & 255] ^ T6[(low >>> 8) & 255] ^ T5[(low >>> 16) & 255] ^ T4[low >>> 24] ^
      T3[bytes[at + 4]] ^ T2[bytes[at + 5]] ^ T1[bytes[at + 6]] ^ T0[bytes[at + 7]];
  }
  for (; at < bytes.length; at++) crc = (crc >>> 8) ^ T0[(crc ^ bytes[at]) & 255];
  return (crc ^ 0xffffffff) >>> 0;
}
