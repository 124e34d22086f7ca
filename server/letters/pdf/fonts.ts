import { readFileSync } from 'node:fs';
import { createRequire } from 'node:module';
import { create, type Font, type GlyphRun } from 'fontkit';

/**
 * The faces of every document: Source Sans 3 (SIL Open Font License 1.1), which covers Latin with its
 * diacritics, Greek and Cyrillic. Each file is parsed once a process and shared by all documents.
 */
export type FaceName = 'regular' | 'italic' | 'semibold' | 'bold';

const files: Readonly<Record<FaceName, string>> = {
  regular: '400Regular/SourceSans3_400Regular.ttf',
  italic: '400Regular_Italic/SourceSans3_400Regular_Italic.ttf',
  semibold: '600SemiBold/SourceSans3_600SemiBold.ttf',
  bold: '700Bold/SourceSans3_700Bold.ttf',
};

interface Face {
  name: FaceName;
  /** What pdfkit embeds: the parsed font, its layouts remembered. */
  font: Font;
  /** Width of the text in thousandths of the font size. */
  measure(text: string): number;
  has(codePoint: number): boolean;
}

/** Words remembered per face. A conference uses a few thousand; the bound keeps a long batch flat in memory. */
const rememberedWords = 20_000;

const faces = new Map<FaceName, Face>();

export function faceOf(name: FaceName): Face {
  const known = faces.get(name);
  if (known) return known;
  const face = loadFace(name);
  faces.set(name, face);
  return face;
}

function loadFace(name: FaceName): Face {
  const path = createRequire(import.meta.url).resolve(`@expo-google-fonts/source-sans-3/${files[name]}`);
  const parsed = create(readFileSync(path));
  // pdfkit scales layouts in place to 1000 units an em; sharing them is safe only when that changes nothing.
  if (parsed.unitsPerEm !== 1000) throw new Error(`${path} is not drawn on 1000 units per em.`);
  // A glyph remembers the characters it was first made for, and the PDF's text is read from that. Asked for as a
  // part of another glyph (the dotless i of i) it would remember none, so each is made here for its own character.
  // Ligatures are left to their letters: a search for "official" must find it however it is drawn.
  for (const codePoint of parsed.characterSet) {
    const character = String.fromCodePoint(codePoint);
    if (character.normalize('NFKC') === character) parsed.glyphForCodePoint(codePoint);
  }
  const layouts = new Map<string, GlyphRun>();
  const widths = new Map<string, number>();
  const font: Font = Object.create(parsed, {
    layout: {
      value(text: string, features?: unknown): GlyphRun {
        if (features) return parsed.layout(text, features);
        let run = layouts.get(text);
        if (!run) {
          run = parsed.layout(text);
          if (layouts.size >= rememberedWords) layouts.clear();
          layouts.set(text, run);
        }
        return run;
      },
    },
  });
  return {
    name,
    font,
    measure(text) {
      let width = widths.get(text);
      if (width === undefined) {
        width = font.layout(text).advanceWidth;
        if (widths.size >= rememberedWords) widths.clear();
        widths.set(text, width);
      }
      return width;
    },
    has: (codePoint) => parsed.hasGlyphForCodePoint(codePoint),
  };
}
