import { pointOf } from '../server/football/drawing/ball-marks.ts';
import {
  endZone,
  fieldLength,
  fieldWidth,
  nameOfYardLine,
  type Point,
} from '../server/football/drawing/field-measures.ts';
import type { PlayDrawing } from '../server/football/drawing/play-drawing.ts';
import { positionLetter } from '../server/football/positions.ts';

// A play of the demo's invented films: the field from the side, the offense going to the right.

const [width, height] = [960, 540];
const [left, top] = [40, 96];
const ground = { width: width - 2 * left, height: height - top - 56 };

const escaped = (text: string) => text.replaceAll('&', '&amp;').replaceAll('<', '&lt;');
const round = (value: number) => Math.round(value * 10) / 10;

/** Where a place of the field is on the picture. */
export function placesOnPicture({ from, to }: PlayDrawing, { x, y }: Point): Point {
  return {
    x: round(left + ((y - from) / (to - from)) * ground.width),
    y: round(top + (x / fieldWidth) * ground.height),
  };
}

export function playPicture(drawing: PlayDrawing, words: string): string {
  const at = (point: Point) => placesOnPicture(drawing, point);
  const across = (y: number, stroke: string, wide: number, more = '') => {
    const { x } = at({ x: 0, y });
    return `<line x1="${x}" y1="${top}" x2="${x}" y2="${top + ground.height}" stroke="${stroke}" stroke-width="${wide}"${more}/>`;
  };
  const yards: string[] = [];
  for (let y = Math.ceil(drawing.from / 5) * 5; y <= drawing.to; y += 5) {
    if (y < endZone || y > fieldLength - endZone) continue;
    yards.push(across(y, '#ffffff', y % 10 === 0 ? 2 : 1, ' opacity="0.6"'));
    const name = nameOfYardLine(y - endZone);
    if (y % 10 === 0 && name > 0)
      yards.push(
        `<text x="${at({ x: 0, y }).x}" y="${top + ground.height - 14}" fill="#ffffff" font-size="22" text-anchor="middle">${name}</text>`,
      );
  }
  const places = drawing.marks.map(pointOf).filter((point) => point !== undefined);
  const way = places.map((point) => `${at(point).x},${at(point).y}`).join(' ');
  const officials = drawing.officials.map(({ position, owes, ...point }) => {
    const place = at({ x: Math.min(fieldWidth, Math.max(0, point.x)), y: point.y });
    return `<circle cx="${place.x}" cy="${place.y}" r="15" fill="${owes ? '#f2b632' : '#ffffff'}" stroke="#111111" stroke-width="2"/><text x="${place.x}" y="${place.y + 6}" font-size="17" font-weight="700" text-anchor="middle" fill="#111111">${positionLetter[position]}</text>`;
  });
  return [
    `<svg xmlns="http://www.w3.org/2000/svg" width="${width}" height="${height}" font-family="Source Sans 3">`,
    `<rect width="${width}" height="${height}" fill="#1d2b24"/>`,
    `<text x="${left}" y="36" font-size="24" font-weight="700" fill="#ffffff">${escaped(words)}</text>`,
    `<text x="${left}" y="70" font-size="22" fill="#f2b632">Invented diagram, no real film</text>`,
    `<rect x="${left}" y="${top}" width="${ground.width}" height="${ground.height}" fill="#3c7a4a"/>`,
    ...yards,
    across(drawing.lineOfScrimmage, '#8fc7ff', 4),
    ...(drawing.lineToGain === undefined
      ? []
      : [across(drawing.lineToGain, '#ffe14d', 4, ' stroke-dasharray="14 8"')]),
    ...(places.length > 1
      ? [`<polyline points="${way}" fill="none" stroke="#ffffff" stroke-width="3" stroke-dasharray="4 8"/>`]
      : []),
    ...officials,
    '</svg>',
  ].join('\n');
}
