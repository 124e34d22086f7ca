import type { Pointer } from '../../timeline/cut.ts';
import { pictureSize } from '../rendering/constants.ts';
import { textElement, widthOf } from './drawn-text.ts';

const { width, height } = pictureSize;
const ink = '#ffd23f';
const coverInk = '#2b2b2b';
const svg = (parts: readonly string[]) =>
  [
    `<svg xmlns="http://www.w3.org/2000/svg" width="${width}" height="${height}" font-family="Source Sans 3">`,
    ...parts,
    '</svg>',
  ].join('\n');

/** Where the film's own picture is on the reel's: the rest is black. */
export interface PictureBox {
  readonly x: number;
  readonly y: number;
  readonly width: number;
  readonly height: number;
}

const px = (value: number) => value.toFixed(1);

/** A pointer over a film's picture. Dark edges show it on light ground. */
export function pointerSvg(pointer: Pointer, box: PictureBox): string {
  const x = box.x + pointer.x * box.width;
  const y = box.y + pointer.y * box.height;
  const radius = Math.max(8, pointer.size * box.width);
  if (pointer.shape === 'circle') {
    const ring = (stroke: string, wide: number) =>
      `<circle cx="${px(x)}" cy="${px(y)}" r="${px(radius)}" fill="none" stroke="${stroke}" stroke-width="${wide}"/>`;
    return svg([ring('#000000', 10), ring(ink, 6)]);
  }
  if (pointer.shape === 'spotlight') {
    return svg([
      `<path fill="#000000" fill-opacity="0.6" fill-rule="evenodd" d="M${px(box.x)} ${px(box.y)}h${px(box.width)}v${px(box.height)}h${px(-box.width)}z M${px(x - radius)} ${px(y)}a${px(radius)} ${px(radius)} 0 1 0 ${px(2 * radius)} 0a${px(radius)} ${px(radius)} 0 1 0 ${px(-2 * radius)} 0z"/>`,
    ]);
  }
  const [tailX, tailY] = [box.x + pointer.tailX! * box.width, box.y + pointer.tailY! * box.height];
  return svg(pointer.shape === 'cover' ? [cover(x, y, tailX, tailY)] : arrow(x, y, tailX, tailY));
}

/** Whole pixels outward: nothing of what it hides shines through at its edges. */
function cover(x: number, y: number, tailX: number, tailY: number): string {
  const [left, right] = [Math.floor(Math.min(x, tailX)), Math.ceil(Math.max(x, tailX))];
  const [top, bottom] = [Math.floor(Math.min(y, tailY)), Math.ceil(Math.max(y, tailY))];
  return `<rect x="${left}" y="${top}" width="${right - left}" height="${bottom - top}" fill="${coverInk}"/>`;
}

function arrow(x: number, y: number, tailX: number, tailY: number): string[] {
  const length = Math.hypot(x - tailX, y - tailY) || 1;
  const [alongX, alongY] = [(x - tailX) / length, (y - tailY) / length];
  const head = Math.min(36, length / 2);
  const [baseX, baseY] = [x - alongX * head, y - alongY * head];
  const half = head * 0.55;
  const tip = [
    [x, y],
    [baseX - alongY * half, baseY + alongX * half],
    [baseX + alongY * half, baseY - alongX * half],
  ]
    .map(([pointX, pointY]) => `${px(pointX!)},${px(pointY!)}`)
    .join(' ');
  const line = (stroke: string, wide: number) =>
    `<line x1="${px(tailX)}" y1="${px(tailY)}" x2="${px(baseX)}" y2="${px(baseY)}" stroke="${stroke}" stroke-width="${wide}" stroke-linecap="round"/>`;
  return [
    line('#000000', 12),
    `<polygon points="${tip}" fill="${ink}" stroke="#000000" stroke-width="4" stroke-linejoin="round"/>`,
    line(ink, 7),
  ];
}

const captionSize = 40;
const lineHeight = 50;

/** Lines of a caption, at the lower edge. */
export function captionSvg(lines: readonly string[]): string {
  const top = height - 40 - lines.length * lineHeight;
  return svg(
    lines.flatMap((line, at) => {
      const wide = widthOf(line, captionSize, 'semibold') + 32;
      const y = top + at * lineHeight;
      return [
        `<rect x="${px((width - wide) / 2)}" y="${px(y)}" width="${px(wide)}" height="${lineHeight}" fill="#000000" fill-opacity="0.75"/>`,
        textElement(
          line,
          { x: width / 2, y: y + 38, size: captionSize, weight: 'semibold', fill: '#ffffff' },
          ' text-anchor="middle"',
        ),
      ];
    }),
  );
}
