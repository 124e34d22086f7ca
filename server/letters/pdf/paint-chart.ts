import type { ChancesChart, Chart, IntervalChart, IntervalsChart, WeeksChart } from '../chart.ts';
import { formatGrade } from '../wording.ts';
import type { LabelLook, Painter } from './paint.ts';
import { colors } from './style.ts';

/** Plots are drawn as vectors in the letter's own faces. All lengths in points; y grows downward. */
export function chartHeight(chart: Chart, width: number): number {
  switch (chart.kind) {
    case 'interval':
      return chart.peers ? 84 : 66;
    case 'weeks':
      return 112;
    case 'intervals':
      return chart.rows.length * intervalsRow + 24;
    case 'chances':
      return chancesLayout(chart, width).height;
  }
}

export function paintChart(painter: Painter, chart: Chart, x: number, y: number, width: number): void {
  switch (chart.kind) {
    case 'interval':
      paintInterval(painter, chart, x, y, width);
      return;
    case 'intervals':
      paintIntervals(painter, chart, x, y, width);
      return;
    case 'weeks':
      paintWeeks(painter, chart, x, y, width);
      return;
    case 'chances':
      paintChances(painter, chart, x, y, width);
      return;
  }
}

const quiet: LabelLook = { face: 'regular', size: 8.5, color: colors.quiet };
const strong: LabelLook = { face: 'semibold', size: 9.5, color: colors.ink };

/** Whole steps that cover low..high, with room at both ends but not past 0 and 100 unless they reach past. */
function gradeScale(low: number, high: number): { from: number; to: number; step: number } {
  const span = Math.max(high - low, 4);
  const step = span > 40 ? 20 : span > 18 ? 10 : span > 8 ? 5 : 2;
  let from = Math.max(
    Math.min(0, Math.floor(low / step) * step),
    Math.floor((low - span * 0.12) / step) * step,
  );
  let to = Math.min(
    Math.max(100, Math.ceil(high / step) * step),
    Math.ceil((high + span * 0.12) / step) * step,
  );
  if (to - from < 2 * step) {
    if (from >= step) from -= step;
    if (to - from < 2 * step) to += step;
  }
  return { from, to, step };
}

function paintInterval(painter: Painter, chart: IntervalChart, x: number, y: number, width: number): void {
  const { doc } = painter;
  const marks = [chart.low, chart.high, chart.value];
  if (chart.peers) marks.push(chart.peers.lowerQuartile, chart.peers.upperQuartile);
  const scale = gradeScale(Math.min(...marks), Math.max(...marks));
  const inset = 18;
  const at = (grade: number) =>
    x + inset + ((grade - scale.from) / (scale.to - scale.from)) * (width - 2 * inset);
  const top = y + (chart.peers ? 18 : 2);
  const axis = top + 44;
  const bar = top + 27;

  if (chart.peers) {
    const { lowerQuartile, median, upperQuartile, label } = chart.peers;
    const left = at(lowerQuartile);
    const right = at(upperQuartile);
    doc.rect(left, top, Math.max(right - left, 1), axis - top).fill(colors.band);
    doc
      .moveTo(at(median), top)
      .lineTo(at(median), axis)
      .lineWidth(0.9)
      .dash(2, { space: 2 })
      .stroke(colors.accent)
      .undash();
    labelInside(
      painter,
      `Middle half of ${label}, median ${formatGrade(median)}`,
      (left + right) / 2,
      y + 10,
      x,
      width,
      quiet,
    );
  }
  for (let tick = scale.from; tick <= scale.to; tick += scale.step) {
    doc
      .moveTo(at(tick), axis)
      .lineTo(at(tick), axis + 3)
      .lineWidth(0.6)
      .stroke(colors.quiet);
    painter.label(String(tick), at(tick), axis + 13, { ...quiet, align: 'center' });
  }
  painter.hairline(at(scale.from), axis, at(scale.to) - at(scale.from), colors.quiet);

  doc.moveTo(at(chart.low), bar).lineTo(at(chart.high), bar).lineWidth(2.2).stroke(colors.ink);
  for (const end of [chart.low, chart.high])
    doc
      .moveTo(at(end), bar - 5)
      .lineTo(at(end), bar + 5)
      .lineWidth(1.4)
      .stroke(colors.ink);
  doc.circle(at(chart.value), bar, 4.6).lineWidth(1.2).fillAndStroke('#ffffff', colors.ink);
  doc.circle(at(chart.value), bar, 2.4).fill(colors.ink);
  painter.label(formatGrade(chart.value), at(chart.value), bar - 9, {
    ...strong,
    size: 10.5,
    align: 'center',
  });
  const roomForEnds = at(chart.high) - at(chart.low) > 8;
  if (roomForEnds) {
    painter.label(formatGrade(chart.low), at(chart.low) - 4, bar + 3, {
      ...quiet,
      color: colors.ink,
      align: 'right',
    });
    painter.label(formatGrade(chart.high), at(chart.high) + 4, bar + 3, { ...quiet, color: colors.ink });
  }
}

/** A centred label, moved inward when it would leave the plot. */
function labelInside(
  painter: Painter,
  text: string,
  centre: number,
  y: number,
  x: number,
  width: number,
  look: LabelLook,
): void {
  const half = painter.widthOf(text, look) / 2;
  const placed = Math.min(Math.max(centre, x + half), x + width - half);
  painter.label(text, placed, y, { ...look, align: 'center' });
}

const intervalsRow = 17;

function paintIntervals(
  painter: Painter,
  { rows }: IntervalsChart,
  x: number,
  y: number,
  width: number,
): void {
  const { doc } = painter;
  const look: LabelLook = { face: 'regular', size: 9, color: colors.ink };
  const names = Math.min(Math.max(60, ...rows.map(({ label }) => painter.widthOf(label, look))), width * 0.4);
  const left = x + names + 14;
  const right = x + width - 34;
  const scale = gradeScale(
    Math.min(...rows.map(({ low }) => low)),
    Math.max(...rows.map(({ high }) => high)),
  );
  const at = (grade: number) => left + ((grade - scale.from) / (scale.to - scale.from)) * (right - left);
  const axis = y + rows.length * intervalsRow + 4;
  for (let tick = scale.from; tick <= scale.to; tick += scale.step) {
    doc.moveTo(at(tick), y).lineTo(at(tick), axis).lineWidth(0.5).stroke(colors.hairline);
    painter.label(String(tick), at(tick), axis + 12, { ...quiet, align: 'center' });
  }
  rows.forEach(({ label, value, low, high }, index) => {
    const middle = y + index * intervalsRow + intervalsRow / 2;
    painter.label(clipped(painter, label, names, look), x, middle + 3, look);
    doc.moveTo(at(low), middle).lineTo(at(high), middle).lineWidth(1.6).stroke(colors.accent);
    doc.circle(at(value), middle, 3).fill(colors.ink);
    painter.label(formatGrade(value), x + width, middle + 3, { ...look, face: 'semibold', align: 'right' });
  });
}

/** The text, or as much of it as fits with an ellipsis. */
function clipped(painter: Painter, text: string, width: number, look: LabelLook): string {
  if (painter.widthOf(text, look) <= width + 0.5) return text;
  const characters = [...text];
  while (characters.length > 1 && painter.widthOf(`${characters.join('')}…`, look) > width) characters.pop();
  return `${characters.join('').trimEnd()}…`;
}

function paintWeeks(painter: Painter, chart: WeeksChart, x: number, y: number, width: number): void {
  const { doc } = painter;
  const grades = chart.weeks.flatMap(({ grade }) => (grade === null ? [] : [grade]));
  if (chart.level !== null) grades.push(chart.level);
  const scale = gradeScale(Math.min(...grades, 100), Math.max(...grades, 0));
  const left = x + 26;
  const right = x + width - 10;
  const top = y + 14;
  const bottom = y + 94;
  const at = (grade: number) => bottom - ((grade - scale.from) / (scale.to - scale.from)) * (bottom - top);
  const step = chart.weeks.length > 1 ? (right - left - 32) / (chart.weeks.length - 1) : 0;
  const across = (index: number) => left + 16 + index * step;

  for (let tick = scale.from; tick <= scale.to; tick += scale.step) {
    painter.hairline(left, at(tick), right - left);
    painter.label(String(tick), left - 6, at(tick) + 3, { ...quiet, align: 'right' });
  }
  if (chart.level !== null) {
    doc
      .moveTo(left, at(chart.level))
      .lineTo(right, at(chart.level))
      .lineWidth(0.9)
      .dash(2, { space: 2 })
      .stroke(colors.accent)
      .undash();
  }
  let before: number | null = null;
  chart.weeks.forEach(({ grade }, index) => {
    if (grade !== null && before !== null) {
      const from = chart.weeks[before]?.grade ?? 0;
      doc
        .moveTo(across(before), at(from))
        .lineTo(across(index), at(grade))
        .lineWidth(index - before > 1 ? 0.6 : 1.3)
        .stroke(index - before > 1 ? colors.quiet : colors.ink);
    }
    if (grade !== null) before = index;
  });
  chart.weeks.forEach(({ week, grade }, index) => {
    painter.label(String(week), across(index), bottom + 13, { ...quiet, align: 'center' });
    if (grade === null) return;
    doc.circle(across(index), at(grade), 2.8).fill(colors.ink);
    // Below the point in a valley, so that the line doesn't run through the figure.
    const isValley =
      neighbours(chart, index).some((near) => near > grade) &&
      !neighbours(chart, index).some((near) => near < grade);
    const shift = isValley && at(grade) + 13 < bottom ? 12 : -6;
    painter.label(formatGrade(grade), across(index), at(grade) + shift, {
      ...quiet,
      color: colors.ink,
      align: 'center',
    });
  });
  painter.label('week', left - 6, bottom + 13, { ...quiet, align: 'right' });
}

/** The grades of the nearest graded weeks on either side. */
function neighbours({ weeks }: WeeksChart, index: number): number[] {
  const before = weeks.slice(0, index).findLast(({ grade }) => grade !== null)?.grade;
  const after = weeks.slice(index + 1).find(({ grade }) => grade !== null)?.grade;
  return [before, after].filter((grade) => typeof grade === 'number');
}

const square = 7;
const squareGap = 2;
const gameGap = 10;
const rowHeight = 26;
/** Above this many opportunities single squares say less than a bar per game. */
const mostSquares = 150;

type Group = { label: string; opportunities: number; misses: number; x: number; row: number; width: number };

interface ChancesLayout {
  groups: Group[];
  /** Where the key stands: after the last game. */
  key: { x: number; row: number };
  height: number;
  squares: boolean;
}

const keyWidth = 78;

function chancesLayout(chart: ChancesChart, width: number): ChancesLayout {
  const total = chart.games.reduce((sum, { opportunities }) => sum + opportunities, 0);
  const squares =
    total <= mostSquares && chart.games.every((game) => game.opportunities * (square + squareGap) <= width);
  let x = 0;
  let row = 0;
  const advance = (needed: number) => {
    if (x > 0 && x + needed > width) {
      x = 0;
      row += 1;
    }
    const at = { x, row };
    x += needed + gameGap;
    return at;
  };
  const groups = chart.games.map((game): Group => {
    const drawn = squares ? game.opportunities * (square + squareGap) - squareGap : 36;
    const groupWidth = Math.max(drawn, 34);
    return { ...game, ...advance(groupWidth), width: groupWidth };
  });
  const key = advance(keyWidth);
  return { groups, key, height: (key.row + 1) * (squares ? rowHeight : rowHeight + 16) + 2, squares };
}

function paintChances(painter: Painter, chart: ChancesChart, x: number, y: number, width: number): void {
  const { doc } = painter;
  const { groups, squares, key } = chancesLayout(chart, width);
  const keyTop = y + 2 + key.row * (squares ? rowHeight : rowHeight + 16);
  doc.rect(x + key.x, keyTop, square, square).fill(colors.miss);
  painter.label('missed', x + key.x + square + 4, keyTop + square, quiet);
  doc
    .rect(x + key.x + 44.4, keyTop + 0.4, square - 0.8, square - 0.8)
    .lineWidth(0.8)
    .stroke(colors.accent);
  painter.label('met', x + key.x + 44 + square + 4, keyTop + square, quiet);
  for (const group of groups) {
    const left = x + group.x;
    if (squares) {
      const top = y + 2 + group.row * rowHeight;
      for (let index = 0; index < group.opportunities; index += 1) {
        const at = left + index * (square + squareGap);
        if (index < group.misses) doc.rect(at, top, square, square).fill(colors.miss);
        else
          doc
            .rect(at + 0.4, top + 0.4, square - 0.8, square - 0.8)
            .lineWidth(0.8)
            .stroke(colors.accent);
      }
      painter.label(group.label, left, top + square + 10, quiet);
      continue;
    }
    const top = y + 2 + group.row * (rowHeight + 16);
    const full = 18;
    const miss = group.opportunities > 0 ? (group.misses / group.opportunities) * full : 0;
    doc
      .rect(left + 0.4, top + 0.4, 12 - 0.8, full - 0.8)
      .lineWidth(0.8)
      .stroke(colors.accent);
    if (miss > 0) doc.rect(left, top + full - miss, 12, miss).fill(colors.miss);
    painter.label(`${group.misses}/${group.opportunities}`, left + 15, top + full - 1, quiet);
    painter.label(group.label, left, top + full + 11, quiet);
  }
}
