import type { LetterDocument } from '../document-tree.ts';
import { Coverage, standIn } from './coverage.ts';
import { type Frame, layout } from './layout.ts';
import { Painter } from './paint.ts';
import { colors, margins, type Paper, paperSizes, tightMargins } from './style.ts';

interface PdfOptions {
  paper: Paper;
  /** Narrower margins, for what should fit on one page. */
  tight?: boolean;
}

export interface RenderedPdf {
  pdf: Buffer;
  pages: number;
  /** Texts whose script the font doesn't cover, printed as □ (empty when all is well). */
  unsupported: { scripts: string[]; texts: string[] };
}

/** How many pages the document takes, without drawing it. */
export function countPages(document: LetterDocument, options: PdfOptions): number {
  return placed(document, options).laidOut.pages.length;
}

/** Draws a document tree as a tagged PDF 1.7 (PDF/UA-1 conventions) with embedded fonts and bookmarks. */
export async function renderPdf(document: LetterDocument, options: PdfOptions): Promise<RenderedPdf> {
  const { coverage, footer, edge, frame, laidOut } = placed(document, options);
  const [width, height] = paperSizes[options.paper];
  const painter = new Painter(document, options.paper);
  const finished = collect(painter.doc);

  laidOut.pages.forEach((pieces, index) => {
    painter.newPage();
    for (const { piece, y, gapAbove, repeated } of pieces) {
      const top = frame.top + y;
      if (piece.anchor && !repeated) {
        const { title, level, name } = piece.anchor;
        painter.bookmark(title, level, name, top);
      }
      const paint = () => piece.paint(painter, frame.left, top, gapAbove);
      if (repeated) painter.artifact('Pagination', paint);
      else paint();
    }
    painter.artifact('Pagination', () => {
      const base = height - edge.bottom + 28;
      const look = { face: 'regular', size: 8.5, color: colors.quiet } as const;
      painter.label(footer, frame.left, base, look);
      painter.label(`Page ${index + 1} of ${laidOut.pages.length}`, width - edge.right, base, {
        ...look,
        align: 'right',
      });
      if (document.mark)
        painter.label(document.mark, width - edge.right, edge.top / 2, {
          ...{ face: 'bold', size: 9.5, color: colors.miss, align: 'right' },
        } as const);
    });
  });
  painter.finish(laidOut.root);
  return {
    pdf: await finished,
    pages: laidOut.pages.length,
    unsupported: { scripts: [...coverage.scripts].sort(), texts: [...coverage.texts] },
  };
}

function placed(document: LetterDocument, options: PdfOptions) {
  const coverage = new Coverage();
  const blocks = coverage.blocks(document.blocks);
  const footer = coverage.text(document.footer);
  if (coverage.texts.size > 0)
    blocks.push({ kind: 'rule' }, { kind: 'paragraph', inlines: [{ text: note(coverage) }] });
  const edge = options.tight ? tightMargins : margins;
  const [width, height] = paperSizes[options.paper];
  const frame: Frame = {
    left: edge.left,
    top: edge.top,
    width: width - edge.left - edge.right,
    height: height - edge.top - edge.bottom,
  };
  return { coverage, footer, edge, frame, laidOut: layout({ ...document, blocks }, frame) };
}

function note({ scripts }: Coverage): string {
  const names = new Intl.ListFormat('en-US').format([...scripts].sort());
  return `Each ${standIn} stands for a character that this document’s font can’t print: it covers the Latin, Greek and Cyrillic scripts, not ${names}. The name or comment is kept as it was written; only its print is affected.`;
}

function collect(doc: PDFKit.PDFDocument): Promise<Buffer> {
  return new Promise((resolve, reject) => {
    const chunks: Uint8Array[] = [];
    doc.on('data', (chunk: Uint8Array) => chunks.push(chunk));
    doc.on('end', () => resolve(Buffer.concat(chunks)));
    doc.on('error', reject);
  });
}
