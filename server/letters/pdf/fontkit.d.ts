/** The part of fontkit that we and pdfkit read; the package ships no types. Units: font units, 1000 per em. */
declare module 'fontkit' {
  export interface GlyphRun {
    glyphs: { id: number; advanceWidth: number; codePoints: number[] }[];
    positions: { xAdvance: number; xOffset: number; yOffset: number }[];
    readonly advanceWidth: number;
  }
  export interface Font {
    readonly unitsPerEm: number;
    readonly ascent: number;
    readonly descent: number;
    readonly capHeight: number;
    readonly xHeight: number;
    readonly characterSet: number[];
    glyphForCodePoint(codePoint: number): unknown;
    hasGlyphForCodePoint(codePoint: number): boolean;
    layout(text: string, features?: unknown): GlyphRun;
  }
  export function create(bytes: Uint8Array): Font;
}
