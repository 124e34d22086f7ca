import { type Block, type Inline, type LetterDocument, plainText } from '../document-tree.ts';
import { type Line, naturalWidths, wrapLines } from './lines.ts';
import { node, type Painter, type StructureNode } from './paint.ts';
import { chartHeight, paintChart } from './paint-chart.ts';
import { colors, styles, type TextStyle } from './style.ts';

/**
 * Places the document tree on pages. Blocks become pieces, none of which is ever split: a line, a table row,
 * a figure. A piece may be tied to the next one (a heading to its text, a paragraph's first two and last two
 * lines); `paginate` fills pages without cutting a tie. All lengths in points.
 */
export interface Piece {
  height: number;
  /** Gap above; dropped at the top of a page. */
  before: number;
  /** May not be parted from the next piece by a page's end. */
  tied: boolean;
  startsPage?: boolean;
  anchor?: Anchor;
  /** Drawn again at the top of a page that begins with this piece. */
  repeats?: Piece;
  paint(painter: Painter, x: number, y: number, gapAbove: number): void;
}

/** A heading, for bookmarks and contents. Its page is known once laid out. */
interface Anchor {
  title: string;
  level: 1 | 2 | 3;
  name: string;
  page: number;
  isMasthead: boolean;
}

interface PlacedPiece {
  piece: Piece;
  y: number;
  gapAbove: number;
  repeated: boolean;
}

export interface Frame {
  left: number;
  top: number;
  width: number;
  height: number;
}

interface LaidOut {
  pages: PlacedPiece[][];
  anchors: Anchor[];
  root: StructureNode;
}

export function layout(document: LetterDocument, frame: Frame): LaidOut {
  const root = node('Document', null, { lang: document.language });
  const setter = new Setter(frame, document.blocks);
  const pieces = setter.blocks(document.blocks, frame.width, root, styles.body);
  keepEndTogether(pieces, frame.height);
  return { pages: paginate(pieces, frame.height), anchors: setter.anchors, root };
}

/** So much of a page the last section may take and still be kept whole. */
const wholeEnd = 0.35;
const fewestLinesAtEnd = 5;

/**
 * Ties the end, so that no page holds a signature alone: the last section whole where it is short, from its heading on;
 * else its last lines.
 */
export function keepEndTogether(pieces: readonly Piece[], height: number): void {
  const heading = pieces.findLastIndex(({ anchor }) => anchor !== undefined);
  const room = pieces.slice(heading).reduce((sum, piece) => sum + piece.before + piece.height, 0);
  const isShort = heading >= 0 && room <= wholeEnd * height;
  const from = isShort ? heading : Math.max(0, pieces.length - fewestLinesAtEnd);
  for (const piece of pieces.slice(from, -1)) piece.tied = true;
}

/** Fills pages of the given height. A run of tied pieces longer than a page is cut where the page ends. */
export function paginate(pieces: readonly Piece[], height: number): PlacedPiece[][] {
  const pages: PlacedPiece[][] = [[]];
  let y = 0;
  const current = () => pages.at(-1)!;
  const newPage = () => {
    pages.push([]);
    y = 0;
  };
  const place = (piece: Piece, repeated = false) => {
    const gapAbove = current().length === 0 ? 0 : piece.before;
    current().push({ piece, y: y + gapAbove, gapAbove, repeated });
    y += gapAbove + piece.height;
    if (piece.anchor) piece.anchor.page = pages.length;
  };
  for (let start = 0; start < pieces.length; ) {
    let end = start;
    while (end < pieces.length - 1 && pieces[end]!.tied) end += 1;
    const run = pieces.slice(start, end + 1);
    start = end + 1;
    const first = run[0]!;
    if (first.startsPage && current().length > 0) newPage();
    const needed = run.reduce((sum, piece, index) => sum + piece.height + (index > 0 ? piece.before : 0), 0);
    const gap = current().length === 0 ? 0 : first.before;
    if (y + gap + needed > height && current().length > 0) newPage();
    for (const piece of run) {
      const above = current().length === 0 ? 0 : piece.before;
      if (y + above + piece.height > height && current().length > 0) newPage();
      if (current().length === 0 && piece.repeats) place(piece.repeats, true);
      place(piece);
    }
  }
  if (current().length === 0 && pages.length > 1) pages.pop();
  return pages;
}

const gaps = {
  paragraph: 7,
  heading1: 20,
  heading2: 18,
  heading3: 13,
  item: 3,
  list: 5,
  figure: 8,
  table: 8,
  quote: 9,
  afterTable: 11,
};

class Setter {
  readonly anchors: Anchor[] = [];
  private readonly frame: Frame;
  private readonly headings: number;

  constructor(frame: Frame, blocks: readonly Block[]) {
    this.frame = frame;
    this.headings = blocks.filter((block) => block.kind === 'heading' && block.level <= 2).length;
  }

  blocks(blocks: readonly Block[], width: number, parent: StructureNode, style: TextStyle): Piece[] {
    const pieces: Piece[] = [];
    let startsPage = false;
    let previous: Block['kind'] | null = null;
    for (const block of blocks) {
      if (block.kind === 'page-break') {
        startsPage = true;
        continue;
      }
      const made = this.block(block, width, parent, style);
      if (startsPage && made[0]) {
        made[0].startsPage = true;
        startsPage = false;
      }
      // A figure or table stays with the sentence that leads to it.
      const lead = pieces.at(-1);
      if (lead && previous === 'paragraph' && (block.kind === 'figure' || block.kind === 'table'))
        lead.tied = true;
      if (made[0] && block.kind === 'paragraph' && (previous === 'table' || previous === 'figure'))
        made[0].before = gaps.afterTable;
      previous = block.kind;
      pieces.push(...made);
    }
    return pieces;
  }

  private block(block: Block, width: number, parent: StructureNode, style: TextStyle): Piece[] {
    switch (block.kind) {
      case 'heading':
        return this.heading(block.level, block.inlines, width, parent);
      case 'paragraph':
        return lines(wrapLines(block.inlines, style, width), style, node('P', parent), gaps.paragraph);
      case 'masthead':
        return this.masthead(block, width, parent);
      case 'list':
        return this.list(block, width, parent, style);
      case 'quote':
        return this.quote(block.blocks, width, parent);
      case 'table':
        return this.table(block, width, parent);
      case 'figure':
        return [figure(block, width, parent)];
      case 'contents':
        return this.contents(width, parent);
      case 'rule':
        return [
          {
            height: 1,
            before: 12,
            tied: false,
            paint: (painter, x, y) => painter.artifact('Layout', () => painter.hairline(x, y, width)),
          },
        ];
      case 'page-break':
        return [];
    }
  }

  private heading(level: 1 | 2 | 3, inlines: Inline[], width: number, parent: StructureNode): Piece[] {
    const style = styles[`heading${level}`];
    const anchor = this.anchor(plainText(inlines), level);
    const target = node(`H${level}`, parent);
    const pieces = lines(wrapLines(inlines, style, width), style, target, gaps[`heading${level}`]);
    for (const piece of pieces) piece.tied = true;
    if (pieces[0]) pieces[0].anchor = anchor;
    return pieces;
  }

  private anchor(title: string, level: 1 | 2 | 3, isMasthead = false): Anchor {
    const anchor: Anchor = { title, level, name: `h${this.anchors.length + 1}`, page: 0, isMasthead };
    this.anchors.push(anchor);
    return anchor;
  }

  private masthead(
    { over, title, under }: Extract<Block, { kind: 'masthead' }>,
    width: number,
    parent: StructureNode,
  ): Piece[] {
    const anchor = this.anchor(plainText(title), 1, true);
    const bar: Piece = {
      height: 3,
      before: 0,
      tied: true,
      paint: (painter, x, y) =>
        painter.artifact('Layout', () => painter.doc.rect(x, y, 42, 3).fill(colors.accent)),
    };
    const titleLines = lines(
      wrapLines(title, styles.mastheadTitle, width),
      styles.mastheadTitle,
      node('H1', parent),
      2,
    );
    if (titleLines[0]) titleLines[0].anchor = anchor;
    const pieces = [
      bar,
      ...lines(wrapLines(over, styles.mastheadOver, width), styles.mastheadOver, node('P', parent), 9),
      ...titleLines,
      ...lines(wrapLines(under, styles.mastheadUnder, width), styles.mastheadUnder, node('P', parent), 3),
      {
        height: 1,
        before: 12,
        tied: true,
        paint: (painter: Painter, x: number, y: number) =>
          painter.artifact('Layout', () => painter.hairline(x, y, width)),
      },
    ];
    for (const piece of pieces) piece.tied = true;
    return pieces;
  }

  private list(
    block: Extract<Block, { kind: 'list' }>,
    width: number,
    parent: StructureNode,
    style: TextStyle,
  ): Piece[] {
    const list = node('L', parent);
    const indent = block.ordered ? 20 : 14;
    return block.items.flatMap((item, index) => {
      const listItem = node('LI', list);
      const label = node('Lbl', listItem);
      const marker = block.ordered ? `${block.start + index}.` : '•';
      const pieces = this.blocks(item, width - indent, node('LBody', listItem), style).map((piece) =>
        shifted(piece, indent),
      );
      const first = pieces[0];
      if (!first) return [];
      first.before = index === 0 ? gaps.list : gaps.item;
      const paint = first.paint;
      first.paint = (painter, x, y, gapAbove) => {
        painter.enter(label);
        painter.label(marker, x, y + baseline(style), {
          face: style.face,
          size: style.size,
          color: colors.accent,
        });
        paint(painter, x, y, gapAbove);
      };
      return pieces;
    });
  }

  private quote(blocks: readonly Block[], width: number, parent: StructureNode): Piece[] {
    const inset = 12;
    const pad = 6;
    const inner = this.blocks(blocks, width - 2 * inset, node('BlockQuote', parent), styles.quote);
    return inner.map((piece, index) => {
      const isFirst = index === 0;
      const isLast = index === inner.length - 1;
      const above = isFirst ? pad : 0;
      const below = isLast ? pad : 0;
      const paint = piece.paint;
      return {
        ...piece,
        height: piece.height + above + below,
        before: isFirst ? gaps.quote : piece.before,
        paint: (painter: Painter, x: number, y: number, gapAbove: number) => {
          const gap = isFirst ? 0 : gapAbove;
          painter.artifact('Layout', () => {
            painter.doc.rect(x, y - gap, width, piece.height + above + below + gap).fill(colors.tint);
            painter.doc.rect(x, y - gap, 2.5, piece.height + above + below + gap).fill(colors.accent);
          });
          paint(painter, x + inset, y + above, gapAbove);
        },
      };
    });
  }

  private contents(width: number, parent: StructureNode): Piece[] {
    const contents = node('TOC', parent);
    const style = styles.body;
    // The anchors come later in the document; each line looks its own up when it is drawn.
    return Array.from({ length: this.headings }, (_, index): Piece => {
      const entry = node('TOCI', contents);
      const reference = node('Reference', entry);
      return {
        height: style.leading + 2,
        before: index === 0 ? gaps.list : 0,
        tied: index === 0,
        paint: (painter, x, y) => {
          const anchor = this.anchors.filter(isListed)[index];
          if (!anchor) return;
          const indent = anchor.level === 2 ? 14 : 0;
          const look: TextStyle = anchor.level === 1 ? { ...style, face: 'semibold' } : style;
          const page = String(anchor.page);
          const room = width - indent - 40;
          const title = wrapLines([{ text: anchor.title }], look, room);
          const fragments = title[0]?.fragments ?? [];
          const base = y + baseline(style);
          painter.reference(reference, fragments, x + indent, base, anchor.name);
          painter.enter(entry);
          painter.label(page, x + width, base, {
            face: 'regular',
            size: style.size,
            color: colors.ink,
            align: 'right',
          });
          const from = x + indent + (title[0]?.width ?? 0) + 6;
          const to = x + width - painter.widthOf(page, { face: 'regular', size: style.size, color: '' }) - 6;
          if (to > from)
            painter.artifact('Layout', () =>
              painter.doc
                .moveTo(from, base - 1)
                .lineTo(to, base - 1)
                .lineWidth(0.6)
                .dash(0.6, { space: 3 })
                .stroke(colors.quiet)
                .undash(),
            );
        },
      };
    });
    function isListed(anchor: Anchor): boolean {
      return anchor.level <= 2 && !anchor.isMasthead;
    }
  }

  private table(block: Extract<Block, { kind: 'table' }>, width: number, parent: StructureNode): Piece[] {
    const table = node('Table', parent);
    const columns = columnWidths(block, width);
    const roomIn = (index: number) => columns[index]! - (index === columns.length - 1 ? 0 : cellGap);
    const rowOf = (
      cells: readonly Inline[][],
      style: TextStyle,
      row: StructureNode,
      cellType: 'TH' | 'TD',
    ) => {
      const targets = cells.map(() =>
        node(cellType, row, cellType === 'TH' ? { scope: 'Column' } : undefined),
      );
      const wrapped = cells.map((cell, index) => wrapLines(cell, style, roomIn(index)));
      return { targets, wrapped, count: Math.max(1, ...wrapped.map((cell) => cell.length)) };
    };
    const paintCells = (
      painter: Painter,
      wrapped: readonly Line[][],
      targets: readonly StructureNode[],
      style: TextStyle,
      x: number,
      y: number,
    ) => {
      let left = x;
      wrapped.forEach((cell, index) => {
        const columnWidth = columns[index]!;
        cell.forEach((line, number) => {
          const align = block.align[index] ?? 'left';
          const room = roomIn(index) - line.width;
          const shift = align === 'right' ? room : align === 'center' ? room / 2 : 0;
          const base = y + rowPad + number * style.leading + baseline(style);
          painter.fragments(targets[index]!, line.fragments, left + shift, base);
        });
        left += columnWidth;
      });
    };
    const header = rowOf(block.header, styles.cellHeader, node('TR', table), 'TH');
    const hasHeader = block.header.some((cell) => cell.length > 0);
    const headerPiece: Piece = {
      height: header.count * styles.cellHeader.leading + 2 * rowPad,
      before: gaps.table,
      tied: true,
      paint: (painter, x, y) => {
        paintCells(painter, header.wrapped, header.targets, styles.cellHeader, x, y);
        const foot = y + header.count * styles.cellHeader.leading + 2 * rowPad;
        painter.artifact('Layout', () => painter.hairline(x, foot, width, colors.accent, 0.9));
      },
    };
    // A row is split only when it is taller than a whole page.
    const mostLines = Math.max(
      4,
      Math.floor((this.frame.height - headerPiece.height - 4 * rowPad) / styles.cell.leading) - 1,
    );
    const rows = block.rows.flatMap((cells, index) => {
      const row = rowOf(cells, styles.cell, node('TR', table), 'TD');
      const parts = Math.ceil(row.count / mostLines);
      return Array.from({ length: parts }, (_, part): Piece => {
        const wrapped = row.wrapped.map((cell) => cell.slice(part * mostLines, (part + 1) * mostLines));
        const count = Math.max(1, ...wrapped.map((cell) => cell.length));
        const height = count * styles.cell.leading + 2 * rowPad;
        return {
          height,
          before: index === 0 && part === 0 && !hasHeader ? gaps.table : 0,
          // No row stands alone at a page's foot or head.
          tied: block.rows.length > 1 && (index === 0 || index === block.rows.length - 2) && parts === 1,
          ...(hasHeader && { repeats: headerPiece }),
          paint: (painter, x, y) => {
            paintCells(painter, wrapped, row.targets, styles.cell, x, y);
            if (part === parts - 1) painter.artifact('Layout', () => painter.hairline(x, y + height, width));
          },
        };
      });
    });
    return hasHeader ? [{ ...headerPiece }, ...rows] : rows;
  }
}

const rowPad = 3;
const cellGap = 12;

/**
 * Column widths in points, summing to `width`. Where every column fits on one line, the spare room goes to
 * the widest column of words. Else the narrow columns keep their natural width and the wide ones share the rest.
 */
export function columnWidths(block: Extract<Block, { kind: 'table' }>, width: number): number[] {
  const last = block.header.length - 1;
  const bounds = block.header.map((header, index) => {
    const cells = [
      naturalWidths(header, styles.cellHeader),
      ...block.rows.map((row) => naturalWidths(row[index] ?? [], styles.cell)),
    ];
    const gap = index === last ? 0 : cellGap;
    return {
      least: Math.min(Math.max(...cells.map(({ least }) => least)), width * 0.3) + gap,
      most: Math.max(...cells.map(({ most }) => most)) + gap,
    };
  });
  const sum = (widths: readonly number[]) => widths.reduce((total, one) => total + one, 0);
  const spare = width - sum(bounds.map(({ most }) => most));
  if (spare >= 0) {
    const words = bounds.map(({ most }, index) => ((block.align[index] ?? 'left') === 'left' ? most : 0));
    const widest = words.indexOf(Math.max(...words));
    return bounds.map(({ most }, index) => most + (index === widest ? spare : 0));
  }
  const leastSum = sum(bounds.map(({ least }) => least));
  if (leastSum >= width) return bounds.map(({ least }) => (least / leastSum) * width);
  // The level to which columns may grow: below it a column has its natural width.
  let low = 0;
  let high = width;
  const at = (level: number) => bounds.map(({ least, most }) => Math.max(least, Math.min(most, level)));
  for (let step = 0; step < 30; step += 1) {
    const level = (low + high) / 2;
    if (sum(at(level)) > width) high = level;
    else low = level;
  }
  return at(low);
}

function figure(
  { chart, alt }: Extract<Block, { kind: 'figure' }>,
  width: number,
  parent: StructureNode,
): Piece {
  const height = chartHeight(chart, width);
  return {
    height,
    before: gaps.figure,
    tied: false,
    paint: (painter, x, y) => {
      const target = node('Figure', parent, { alt, bbox: [x, y, x + width, y + height], placement: 'Block' });
      painter.enter(target);
      paintChart(painter, chart, x, y, width);
      painter.leave();
    },
  };
}

/** Where the baseline of a line lies below its top. */
function baseline(style: TextStyle): number {
  return (style.leading - style.size) / 2 + style.size * 0.8;
}

function lines(wrapped: readonly Line[], style: TextStyle, target: StructureNode, before: number): Piece[] {
  return wrapped.map((line, index) => ({
    height: style.leading,
    before: index === 0 ? before : 0,
    // At least two lines of a paragraph stand together at a page's foot and head.
    tied: wrapped.length > 1 && (index === 0 || index === wrapped.length - 2),
    paint: (painter: Painter, x: number, y: number) =>
      painter.fragments(target, line.fragments, x, y + baseline(style)),
  }));
}

function shifted(piece: Piece, by: number): Piece {
  const paint = piece.paint;
  return { ...piece, paint: (painter, x, y, gapAbove) => paint(painter, x + by, y, gapAbove) };
}
