import fc from 'fast-check';

const codePoint = fc.oneof(
  fc.integer({ min: 0, max: 0xd7ff }),
  fc.integer({ min: 0xe000, max: 0x10ffff }), // halves of pairs are left out
);

/** Any text of any characters. fast-check's own takes more than two seconds to prepare, in each process. */
export const anyCharacters = (limits: { maxLength?: number } = {}) =>
  fc.array(codePoint, limits).map((points) => String.fromCodePoint(...points));
