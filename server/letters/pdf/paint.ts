import PDFDocument from 'pdfkit';
import type { LetterDocument } from '../document-tree.ts';
import { type FaceName, faceOf } from './fonts.ts';
import { type Fragment, widthOf } from './lines.ts';
import { colors, type Paper, paperSizes } from './style.ts';

/**
 * A node of the tagged-PDF structure (ISO 32000-1, 14.8.4: Document, H1, P, L, Table, Figure, Link, ...).
 * Its element is made in the PDF when something of it is first drawn, so structure order is reading order.
 */
export interface StructureNode {
  type: string;
  parent: StructureNode | null;
  options?: StructureOptions;
  element?: PDFKit.PDFStructureElement;
}

/** pdfkit's options for an element, with those that its published types leave out. */
type StructureOptions = PDFKit.Mixins.StructureElementOptions & {
  scope?: 'Column' | 'Row';
  bbox?: [number, number, number, number];
  placement?: 'Block' | 'Inline';
};

export const node = (
  type: string,
  parent: StructureNode | null,
  options?: StructureOptions,
): StructureNode => ({ type, parent, ...(options && { options }) });

/** Draws on the pages of one PDF, keeping every mark either in the structure or declared decoration. */
export class Painter {
  readonly doc: PDFKit.PDFDocument;
  readonly width: number;
  readonly height: number;
  private readonly size: [number, number];
  private open: { node: StructureNode; content: PDFKit.PDFStructureContent } | null = null;
  private inArtifact = false;
  private readonly bookmarks: { level: number; item: PDFKit.PDFOutline }[] = [];

  constructor(document: LetterDocument, paper: Paper) {
    this.size = [...paperSizes[paper]];
    [this.width, this.height] = this.size;
    this.doc = new PDFDocument({
      autoFirstPage: false,
      font: '',
      pdfVersion: '1.7',
      subset: 'PDF/UA' as never,
      tagged: true,
      displayTitle: true,
      lang: document.language,
      info: {
        Title: document.title,
        Author: document.author,
        Subject: document.subject,
        Creator: 'Crewmark',
        CreationDate: document.issuedAt,
      },
    });
    for (const name of ['regular', 'italic', 'semibold', 'bold'] as const)
      this.doc.registerFont(name, faceOf(name).font as never);
  }

  newPage(): void {
    this.leave();
    this.doc.addPage({ size: this.size, margin: 0 });
  }

  /** From here on marks belong to this node. */
  enter(target: StructureNode): void {
    if (this.open?.node === target) return;
    this.leave();
    this.elementOf(target);
    this.open = {
      node: target,
      content: this.doc.markStructureContent(target.type, target.options as never),
    };
  }

  leave(): void {
    if (!this.open) return;
    this.doc.endMarkedContent();
    this.elementOf(this.open.node).add(this.open.content);
    this.open = null;
  }

  /** Decoration, or what repeats on each page: not part of the text that a screen reader reads. */
  artifact(type: 'Layout' | 'Pagination', draw: () => void): void {
    if (this.inArtifact) {
      draw();
      return;
    }
    this.leave();
    this.doc.markContent('Artifact', { type });
    this.inArtifact = true;
    draw();
    this.inArtifact = false;
    this.doc.endMarkedContent();
  }

  /** Draws a line's fragments with their baseline at y. Inside an artifact no structure is made. */
  fragments(target: StructureNode, fragments: readonly Fragment[], x: number, y: number): void {
    for (const fragment of fragments) {
      if (this.inArtifact) this.show(fragment, x, y);
      else if (fragment.href) this.linked(target, fragment, x, y);
      else if (fragment.actual !== undefined) {
        this.enter(node('Span', target, { actual: fragment.actual }));
        this.show(fragment, x, y);
        this.leave();
      } else {
        this.enter(target);
        this.show(fragment, x, y);
      }
    }
  }

  /** Plain text in one look, left at x or ending at x or centred on it, without structure of its own. */
  label(text: string, x: number, y: number, look: LabelLook): void {
    const width = this.widthOf(text, look);
    const shift = look.align === 'right' ? width : look.align === 'center' ? width / 2 : 0;
    this.show({ text, face: look.face, size: look.size, color: look.color, x: 0, width }, x - shift, y);
  }

  widthOf(text: string, look: LabelLook): number {
    return widthOf(text, look.face, look.size);
  }

  private linked(target: StructureNode, fragment: Fragment, x: number, y: number): void {
    this.internalOrOutside(target, [fragment], x, y, (element, left, top, width, height) => {
      this.doc.link(left, top, width, height, fragment.href!, {
        structParent: element,
        Contents: new String(fragment.actual ?? fragment.text),
      } as never);
    });
  }

  /** Text that leads to a place in this document. */
  reference(
    target: StructureNode,
    fragments: readonly Fragment[],
    x: number,
    y: number,
    place: string,
  ): void {
    this.internalOrOutside(target, fragments, x, y, (element, left, top, width, height) => {
      this.doc.goTo(left, top, width, height, place, {
        structParent: element,
        Contents: new String(fragments.map(({ text }) => text).join('')),
      } as never);
    });
  }

  private internalOrOutside(
    target: StructureNode,
    fragments: readonly Fragment[],
    x: number,
    y: number,
    annotate: (element: PDFKit.PDFStructureElement, x: number, y: number, w: number, h: number) => void,
  ): void {
    const first = fragments[0];
    const last = fragments.at(-1);
    if (!first || !last) return;
    const link = node('Link', target);
    this.enter(link);
    for (const fragment of fragments) {
      this.show(fragment, x, y);
      if (fragment.href) this.underline(x + fragment.x, y, fragment.width, fragment.color);
    }
    this.leave();
    const element = this.elementOf(link);
    annotate(element, x + first.x, y - first.size, last.x + last.width - first.x, first.size * 1.3);
    // Ended on its own page: the annotation's reference names the page that is current then.
    element.end();
  }

  private underline(x: number, y: number, width: number, color: string): void {
    this.doc
      .moveTo(x, y + 1.6)
      .lineTo(x + width, y + 1.6)
      .lineWidth(0.4)
      .stroke(color);
  }

  private show(fragment: Fragment, x: number, y: number): void {
    this.doc
      .font(fragment.face)
      .fontSize(fragment.size)
      .fillColor(fragment.color)
      .text(fragment.text, x + fragment.x, y, textOptions(fragment.width));
  }

  elementOf(target: StructureNode): PDFKit.PDFStructureElement {
    if (!target.element) {
      target.element = this.doc.struct(target.type, target.options ?? {});
      if (target.parent) this.elementOf(target.parent).add(target.element);
      else this.doc.addStructure(target.element);
    }
    return target.element;
  }

  /** A place that contents and bookmarks lead to. */
  bookmark(title: string, level: number, name: string, y: number): void {
    this.doc.addNamedDestination(name, 'XYZ', 0, Math.max(0, y - 12), null);
    while (this.bookmarks.length > 0 && this.bookmarks.at(-1)!.level >= level) this.bookmarks.pop();
    const parent = this.bookmarks.at(-1)?.item ?? this.doc.outline;
    const item = parent.addItem(title, {
      fit: false,
      top: Math.max(0, y - 12),
      left: this.width,
      expanded: level < 2,
    } as never);
    this.bookmarks.push({ level, item });
  }

  /** Closes structure and document. */
  finish(root: StructureNode): void {
    this.leave();
    this.elementOf(root).end();
    this.doc.end();
  }

  hairline(x: number, y: number, width: number, color: string = colors.hairline, weight = 0.6): void {
    this.doc
      .moveTo(x, y)
      .lineTo(x + width, y)
      .lineWidth(weight)
      .stroke(color);
  }
}

export interface LabelLook {
  face: FaceName;
  size: number;
  color: string;
  align?: 'left' | 'center' | 'right';
}

/** `textWidth` and `wordCount` spare pdfkit a second measuring. */
const textOptions = (width: number) =>
  ({ lineBreak: false, baseline: 'alphabetic', textWidth: width, wordCount: 1 }) as PDFKit.Mixins.TextOptions;
