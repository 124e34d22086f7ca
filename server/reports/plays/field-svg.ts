import type { Code } from '../../football/codes.ts';
import { type BallMark, pointOf } from '../../football/drawing/ball-marks.ts';
import type { Teams } from '../../football/drawing/drawing-words.ts';
import {
  betweenUprights,
  endZone,
  fieldLength,
  fieldWidth,
  hashFromSideline,
  mirrorAcross,
  nameOfYardLine,
} from '../../football/drawing/field-measures.ts';
import type { OfficialOnField, PlayDrawing } from '../../football/drawing/play-drawing.ts';
import { positionLetter } from '../../football/positions.ts';
import { type Box, centered, placeBox } from './label-places.ts';

// Ten units of the picture to a yard, the offense going up the page. The officials stand outside the left sideline; to
// the right there is also room for whose half of the field it is.
const scale = 10;
const leftOfField = 34;
const rightOfField = 62;
const aboveField = 34;
const belowField = 34;
const officialSize = 17;
const textHeight = 22;
const perLetter = 10.5;

const across = (x: number) => round(leftOfField + x * scale);
const round = (value: number) => Math.round(value * 10) / 10;

/** What each place is called beside its number. */
const called: Readonly<Record<BallMark['kind'], string>> = {
  snapped: 'snap',
  kicked: 'kick',
  caught: 'catch',
  'fell incomplete': 'incomplete',
  intercepted: 'intercepted',
  'kick came down': 'comes down',
  'came loose': 'loose',
  dead: 'dead',
};

/**
 * The drawing as SVG for a page: classes only, no inline style. `words` say the same to who cannot see it; everything
 * that is not a number is escaped.
 */
export function fieldSvg(drawing: PlayDrawing, teams: Teams | undefined, words: string): string {
  const along = (y: number) => round(aboveField + (drawing.to - y) * scale);
  const width = round(leftOfField + fieldWidth * scale + rightOfField);
  const height = round(aboveField + (drawing.to - drawing.from) * scale + belowField);
  const parts = [
    ...ground(drawing, teams, along),
    ...zone(drawing, along),
    ...linesOfTheField(drawing, along),
    ...linesOfThePlay(drawing, along),
    ...spreads(drawing, along),
    ...path(drawing, along),
    ...drawing.officials.map((official) => badge(official, along)),
    ...labels(drawing, teams, along),
  ];
  return `<svg class="football-field" role="img" viewBox="0 0 ${width} ${height}" width="${width}" height="${height}" aria-label="${escaped(words)}"><defs><pattern id="field-hatch" width="14" height="14" patternUnits="userSpaceOnUse" patternTransform="rotate(45)"><line class="field-hatch" x1="0" x2="0" y1="0" y2="14"/></pattern></defs>${parts.join('')}</svg>`;
}

type Along = (y: number) => number;

const line = (name: string, x1: number, y1: number, x2: number, y2: number) =>
  `<line class="${name}" x1="${x1}" y1="${y1}" x2="${x2}" y2="${y2}"/>`;
const rect = (name: string, x: number, y: number, width: number, height: number, more = '') =>
  `<rect class="${name}" x="${x}" y="${y}" width="${round(width)}" height="${round(height)}"${more}/>`;
const text = (name: string, x: number, y: number, words: string, more = '') =>
  `<text class="${name}" x="${x}" y="${y}"${more}>${escaped(words)}</text>`;
const escaped = (words: string) =>
  words.replaceAll('&', '&amp;').replaceAll('<', '&lt;').replaceAll('>', '&gt;').replaceAll('"', '&quot;');

function ground({ from, to }: PlayDrawing, teams: Teams | undefined, along: Along): string[] {
  const parts = [rect('field-ground', across(0), along(to), fieldWidth * scale, (to - from) * scale)];
  for (const low of endZonesShown({ from, to }))
    parts.push(rect('field-end-zone', across(0), along(low + endZone), fieldWidth * scale, endZone * scale));
  const halves = [
    { low: endZone, team: teams?.offense ?? 'own' },
    { low: fieldLength / 2, team: teams?.defense ?? "opponent's" },
  ];
  for (const { low, team } of halves) {
    const bottom = Math.max(low, from);
    const top = Math.min(low + 50, to);
    const words = `${team} side`;
    if ((top - bottom) * scale < words.length * perLetter) continue;
    const x = across(fieldWidth) + rightOfField - 7;
    const y = along((bottom + top) / 2);
    parts.push(text('field-side', x, y, words, ` transform="rotate(-90 ${x} ${y})"`));
  }
  return parts;
}

/** Where the end zones begin that are in the picture whole. */
const endZonesShown = ({ from, to }: Pick<PlayDrawing, 'from' | 'to'>) =>
  [0, fieldLength - endZone].filter((low) => low >= from && low + endZone <= to);

function zone({ zone: of, from, to }: PlayDrawing, along: Along): string[] {
  if (of === undefined) return [];
  const top = Math.min(to, of.y.to);
  const bottom = Math.max(from, of.y.from);
  if (top <= bottom) return [];
  return [
    rect(
      'field-zone',
      across(of.x.from),
      along(top),
      (of.x.to - of.x.from) * scale,
      (top - bottom) * scale,
      ' fill="url(#field-hatch)"',
    ),
  ];
}

function linesOfTheField({ from, to, code }: PlayDrawing, along: Along): string[] {
  const parts: string[] = [];
  const left = across(0);
  const right = across(fieldWidth);
  for (let y = Math.max(Math.ceil(from / 5) * 5, endZone); y <= Math.min(to, fieldLength - endZone); y += 5) {
    const yards = y - endZone;
    const isGoalLine = yards === 0 || yards === 100;
    parts.push(line(isGoalLine ? 'field-goal-line' : 'field-yards', left, along(y), right, along(y)));
    if (yards % 10 !== 0 || isGoalLine) continue;
    for (const x of [7, mirrorAcross(7)])
      parts.push(text('field-number', across(x), along(y) + 10, String(nameOfYardLine(yards))));
  }
  parts.push(...hashes(from, to, code, along));
  for (const end of [0, fieldLength]) {
    if (end < from || end > to) continue;
    parts.push(line('field-border', left, along(end), right, along(end)));
    const half = betweenUprights[code] / 2;
    for (const x of [fieldWidth / 2 - half, fieldWidth / 2 + half])
      parts.push(`<circle class="field-upright" cx="${across(x)}" cy="${along(end)}" r="5"/>`);
  }
  for (const x of [left, right]) parts.push(line('field-border', x, along(to), x, along(from)));
  return parts;
}

function hashes(from: number, to: number, code: Code, along: Along): string[] {
  const ticks: string[] = [];
  const hash = hashFromSideline[code];
  for (let y = Math.max(from, endZone) + 1; y < Math.min(to, fieldLength - endZone); y++) {
    for (const x of [hash, mirrorAcross(hash)]) ticks.push(`M${round(across(x) - 4)} ${along(y)}h8`);
  }
  return [`<path class="field-hash" d="${ticks.join('')}"/>`];
}

function linesOfThePlay(drawing: PlayDrawing, along: Along): string[] {
  const full = (name: string, y: number) => line(name, across(0), along(y), across(fieldWidth), along(y));
  return [
    full('field-scrimmage', drawing.lineOfScrimmage),
    ...(drawing.receivingLine === undefined ? [] : [full('field-scrimmage', drawing.receivingLine)]),
    ...(drawing.lineToGain === undefined ? [] : [full('field-to-gain', drawing.lineToGain)]),
  ];
}

/** Where a mark is not known to the yard across the field: a bar over all that it may be. */
function spreads({ marks }: PlayDrawing, along: Along): string[] {
  return marks
    .filter((mark) => mark.across.from !== mark.across.to)
    .map((mark) => {
      const [from, to, y] = [across(mark.across.from), across(mark.across.to), along(mark.y)];
      return `<path class="field-spread" d="M${from} ${y}H${to}M${from} ${y - 10}v20M${to} ${y - 10}v20"/>`;
    });
}

const pathNames = { air: 'field-air', ground: 'field-ground-path', 'not logged': 'field-unknown-path' };

function path(drawing: PlayDrawing, along: Along): string[] {
  return drawing.path.map(({ from, to, by }) =>
    line(pathNames[by], across(from.x), along(from.y), across(to.x), along(to.y)),
  );
}

function badge({ position, x, y, owes }: OfficialOnField, along: Along): string {
  const [cx, cy] = [across(x), along(y)];
  const ring = owes ? `<circle class="field-ring" cx="${cx}" cy="${cy}" r="${officialSize + 4}"/>` : '';
  const name = owes ? 'field-official owes' : 'field-official';
  return `<g class="${name}">${ring}<circle class="field-disc" cx="${cx}" cy="${cy}" r="${officialSize}"/>${text('field-letter', cx, cy + 8, positionLetter[position])}</g>`;
}

/** Each place with a dot, and its number and word where they cover nothing else; the words again in the key below. */
function labels(drawing: PlayDrawing, teams: Teams | undefined, along: Along): string[] {
  const within: Box = {
    left: across(0),
    right: across(fieldWidth),
    top: along(drawing.to),
    bottom: along(drawing.from),
  };
  const taken: Box[] = drawing.officials.map(({ x, y }) =>
    centered(across(x), along(y), officialSize * 2 + 8, officialSize * 2 + 8),
  );
  const points = drawing.marks.map((mark) => {
    const point = pointOf(mark) ?? { x: (mark.across.from + mark.across.to) / 2, y: mark.y };
    return { mark, x: across(point.x), y: along(point.y) };
  });
  taken.push(...points.map(({ x, y }) => centered(x, y, 16, 16)));
  const parts: string[] = [];
  points.forEach(({ mark, x, y }, at) => {
    const words = `${at + 1} ${called[mark.kind]}`;
    const box = placeBox(
      { x, y },
      { width: words.length * perLetter + 12, height: textHeight + 6 },
      within,
      taken,
    );
    taken.push(box);
    const [middle, center] = [round((box.left + box.right) / 2), round((box.top + box.bottom) / 2)];
    parts.push(
      line('field-leader', x, y, middle, center),
      mark.lane === undefined && mark.kind !== 'snapped' && mark.kind !== 'kicked'
        ? ''
        : `<circle class="field-dot" cx="${x}" cy="${y}" r="7"/>`,
      rect(
        'field-flag',
        round(box.left),
        round(box.top),
        box.right - box.left,
        box.bottom - box.top,
        ' rx="5"',
      ),
      text('field-flag-words', middle, round(center + 7), words),
    );
  });
  if (drawing.lineToGain !== undefined) {
    const y = along(drawing.lineToGain);
    const box = placeBox({ x: across(15), y }, { width: 130, height: textHeight }, within, taken, [
      ...lineWordPlaces(y),
    ]);
    parts.push(
      text('field-line-words', round((box.left + box.right) / 2), round(box.bottom - 5), 'line to gain'),
    );
  }
  for (const low of endZonesShown(drawing)) {
    const team = low === 0 ? (teams?.offense ?? 'own') : (teams?.defense ?? "opponent's");
    const words = `${team} end zone`;
    const places = [5, 2.5, 7.5].flatMap((up) =>
      [fieldWidth / 2, 14, 39].map((x) => ({ x: across(x), y: along(low + up) })),
    );
    const size = { width: words.length * perLetter, height: textHeight };
    const box = placeBox(places[0]!, size, within, taken, places);
    parts.push(text('field-side', round((box.left + box.right) / 2), round(box.bottom - 5), words));
  }
  return parts;
}

/** Above or below the line, from one sideline to the other. */
function* lineWordPlaces(y: number): Generator<{ x: number; y: number }> {
  for (const x of [15, 38, 26]) for (const beside of [-13, 14]) yield { x: across(x), y: y + beside };
}
