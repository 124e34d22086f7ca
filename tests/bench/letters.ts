import { readFileSync } from 'node:fs';
import { createRequire } from 'node:module';
import { create } from 'fontkit';
import PDFDocument from 'pdfkit';
import type { LetterData } from '../../server/letters/letter-data.ts';
import { renderLetter } from '../../server/letters/render-letter.ts';
import { compileTemplate } from '../../server/letters/template.ts';
import type { Measurement } from './measurement.ts';
import { seededLetters } from './seeded-letters.ts';

/**
 * Letters per second, beside a bare pdfkit program that draws the same pages: the same text runs, rules,
 * squares and links at the same places, in the same embedded faces, with no layout, templates or tags.
 * Then memory over 1,000 letters.
 */
export async function letters(): Promise<Measurement[]> {
  const template = compileTemplate(
    readFileSync(new URL('../../templates/letters/end-of-season.md.hbs', import.meta.url), 'utf8'),
  );
  const batch = seededLetters(64);
  const drawn: Call[][] = [];
  for (const data of batch) drawn.push(await recording(() => renderLetter(data, template)));

  // In turns, so that what else this machine does meets both alike.
  let ours = 0;
  let bare = 0;
  let bareParsedOnce = 0;
  const rounds = 3;
  for (let round = 0; round < rounds; round += 1) {
    for (let index = 0; index < batch.length; index += 1) {
      ours += await timed(() => renderLetter(batch[index]!, template));
      bare += await timed(() => replay(drawn[index]!, false));
      bareParsedOnce += await timed(() => replay(drawn[index]!, true));
    }
  }
  const made = rounds * batch.length;
  const memory = await memoryOver(1000, batch, template);
  const beside = (program: string, time: number): Measurement => ({
    name: `letters: per second beside ${program}`,
    value: (made / ours) * 1000,
    unit: 'letters/s',
    against: `${((made / time) * 1000).toPrecision(4)} letters/s of it; ratio of times, goal 1.5 or less`,
    ratio: ours / time,
  });
  return [
    beside('bare pdfkit drawing the same pages', bare),
    beside('bare pdfkit given parsed fonts', bareParsedOnce),
    {
      name: 'letters: memory after 1,000',
      value: memory.last,
      unit: 'MB live heap',
      against: `after the first 100, ${memory.first.toPrecision(4)} MB`,
      ratio: memory.last / memory.first,
    },
  ];
}

async function timed(work: () => Promise<unknown>): Promise<number> {
  const start = performance.now();
  await work();
  return performance.now() - start;
}

/** Live heap after garbage collection, in MB, after 100 letters and after `count`. */
async function memoryOver(
  count: number,
  batch: readonly LetterData[],
  template: ReturnType<typeof compileTemplate>,
): Promise<{ first: number; last: number }> {
  const collect = await garbageCollector();
  const live = () => {
    collect();
    return process.memoryUsage().heapUsed / 1e6;
  };
  let first = 0;
  for (let index = 0; index < count; index += 1) {
    await renderLetter(batch[index % batch.length]!, template);
    if (index === 99) first = live();
  }
  return { first, last: live() };
}

async function garbageCollector(): Promise<() => void> {
  const { setFlagsFromString } = await import('node:v8');
  const { runInNewContext } = await import('node:vm');
  setFlagsFromString('--expose-gc');
  return runInNewContext('gc') as () => void;
}

interface Call {
  method: Drawing;
  given: unknown[];
}

const drawing = [
  'addPage',
  'font',
  'fontSize',
  'fillColor',
  'text',
  'moveTo',
  'lineTo',
  'rect',
  'circle',
  'lineWidth',
  'dash',
  'undash',
  'stroke',
  'fill',
  'fillAndStroke',
  'link',
  'goTo',
  'addNamedDestination',
] as const;
type Drawing = (typeof drawing)[number];

/** Every drawing call that the work makes on pdfkit, outermost calls only. */
async function recording(work: () => Promise<unknown>): Promise<Call[]> {
  const prototype = PDFDocument.prototype as unknown as Record<Drawing, (...given: unknown[]) => unknown>;
  const calls: Call[] = [];
  let depth = 0;
  const originals = drawing.map((method) => [method, prototype[method]] as const);
  for (const [method, original] of originals) {
    prototype[method] = function (this: unknown, ...given: unknown[]) {
      if (depth === 0) calls.push({ method, given: given.map(withoutTags) });
      depth += 1;
      try {
        return original.apply(this, given);
      } finally {
        depth -= 1;
      }
    };
  }
  try {
    await work();
  } finally {
    for (const [method, original] of originals) prototype[method] = original;
  }
  return calls;
}

function withoutTags(value: unknown): unknown {
  if (typeof value !== 'object' || value === null || Array.isArray(value)) return value;
  // The bare program measures for itself and makes no structure.
  const { structParent, Contents, textWidth, wordCount, ...plain } = value as Record<string, unknown>;
  return plain;
}

const fontFiles = {
  regular: '400Regular/SourceSans3_400Regular.ttf',
  italic: '400Regular_Italic/SourceSans3_400Regular_Italic.ttf',
  semibold: '600SemiBold/SourceSans3_600SemiBold.ttf',
  bold: '700Bold/SourceSans3_700Bold.ttf',
};
const require = createRequire(import.meta.url);

const fontPath = (file: string) => require.resolve(`@expo-google-fonts/source-sans-3/${file}`);
const parsedFonts = new Map(
  Object.entries(fontFiles).map(([name, file]) => [name, create(readFileSync(fontPath(file)))]),
);

/** The bare program. pdfkit parses font files for each document; given parsed fonts it is spared that. */
function replay(calls: readonly Call[], parsedOnce: boolean): Promise<Buffer> {
  const doc = new PDFDocument({ autoFirstPage: false, pdfVersion: '1.7' });
  for (const [name, file] of Object.entries(fontFiles))
    doc.registerFont(name, parsedOnce ? (parsedFonts.get(name) as never) : fontPath(file));
  const finished = new Promise<Buffer>((resolve) => {
    const chunks: Uint8Array[] = [];
    doc.on('data', (chunk: Uint8Array) => chunks.push(chunk));
    doc.on('end', () => resolve(Buffer.concat(chunks)));
  });
  const target = doc as unknown as Record<Drawing, (...given: unknown[]) => unknown>;
  for (const { method, given } of calls) target[method](...given);
  doc.end();
  return finished;
}
