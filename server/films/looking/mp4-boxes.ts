/** Bytes of a file: fewer than asked for at its end. */
type ReadAt = (offset: number, length: number) => Promise<Buffer>;

/** The names of an MP4 file's outermost boxes, as far as they are whole (ISO/IEC 14496-12, section 4.2). */
export async function outerBoxes(readAt: ReadAt, most = 64): Promise<string[]> {
  const names: string[] = [];
  for (let offset = 0; names.length < most; ) {
    const head = await readAt(offset, 16);
    if (head.length < 8) break;
    const name = head.toString('latin1', 4, 8);
    if (!/^[\x20-\x7e\xa9]{4}$/.test(name)) break;
    names.push(name);
    const short = head.readUInt32BE(0);
    // 1: the size follows in 64 bits; 0: to the end of the file.
    const size = short === 1 && head.length === 16 ? Number(head.readBigUInt64BE(8)) : short;
    if (size < 8) break;
    offset += size;
  }
  return names;
}

/** What tells where pictures are comes before them, so that a browser can begin before it has all. */
export const beginsAtOnce = (boxes: readonly string[]): boolean => {
  const [index, media] = [boxes.indexOf('moov'), boxes.indexOf('mdat')];
  return index !== -1 && (media === -1 || index < media);
};
