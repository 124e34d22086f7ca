import { marked, type Token, type Tokens } from 'marked';
import { type Chart, describeChart } from './chart.ts';
import type { Block, ColumnAlign, Inline } from './document-tree.ts';
import { safeAddress } from './escape-markdown.ts';

/**
 * Markdown (CommonMark with tables) to our document tree. HTML is never read, it prints as text. An image
 * names a plot of the letter, `![](chart:grade)`, the contents, `![](contents)`, or a new page,
 * `![](new-page)`; no picture is ever fetched.
 */
export function markdownToBlocks(source: string, charts: ReadonlyMap<string, Chart>): Block[] {
  return blocksOf(marked.lexer(source, { gfm: true, breaks: false }), charts);
}

function blocksOf(tokens: readonly Token[], charts: ReadonlyMap<string, Chart>): Block[] {
  return tokens.flatMap((token) => blockOf(token, charts));
}

function blockOf(token: Token, charts: ReadonlyMap<string, Chart>): Block[] {
  switch (token.type) {
    case 'heading': {
      const heading = token as Tokens.Heading;
      const level = Math.min(heading.depth, 3) as 1 | 2 | 3;
      return [{ kind: 'heading', level, inlines: inlinesOf(heading.tokens) }];
    }
    case 'paragraph':
      return paragraphOf((token as Tokens.Paragraph).tokens, charts);
    case 'text': {
      const text = token as Tokens.Text;
      return [{ kind: 'paragraph', inlines: text.tokens ? inlinesOf(text.tokens) : [{ text: text.text }] }];
    }
    case 'list': {
      const list = token as Tokens.List;
      return [
        {
          kind: 'list',
          ordered: list.ordered,
          start: typeof list.start === 'number' ? list.start : 1,
          items: list.items.map((item) => blocksOf(item.tokens, charts)),
        },
      ];
    }
    case 'table': {
      const table = token as Tokens.Table;
      return [
        {
          kind: 'table',
          align: table.align.map((align): ColumnAlign => align ?? 'left'),
          header: table.header.map((cell) => inlinesOf(cell.tokens)),
          rows: table.rows.map((row) => row.map((cell) => inlinesOf(cell.tokens))),
        },
      ];
    }
    case 'blockquote':
      return [{ kind: 'quote', blocks: blocksOf((token as Tokens.Blockquote).tokens, charts) }];
    case 'hr':
      return [{ kind: 'rule' }];
    case 'code':
      return [{ kind: 'paragraph', inlines: [{ text: (token as Tokens.Code).text.replace(/\s+/g, ' ') }] }];
    case 'html':
      return [{ kind: 'paragraph', inlines: [{ text: token.raw.trim().replace(/\s+/g, ' ') }] }];
    default:
      return [];
  }
}

/** A paragraph, with the figures among its words set apart in their order. */
function paragraphOf(tokens: Token[], charts: ReadonlyMap<string, Chart>): Block[] {
  const blocks: Block[] = [];
  let words: Token[] = [];
  const endWords = () => {
    const inlines = inlinesOf(words);
    if (inlines.some(({ text }) => text.trim())) blocks.push({ kind: 'paragraph', inlines });
    words = [];
  };
  for (const token of tokens) {
    if (token.type !== 'image') {
      words.push(token);
      continue;
    }
    endWords();
    const image = token as Tokens.Image;
    if (image.href === 'contents') blocks.push({ kind: 'contents' });
    else if (image.href === 'new-page') blocks.push({ kind: 'page-break' });
    else {
      const chart = charts.get(image.href.replace(/^chart:/, ''));
      if (chart) blocks.push({ kind: 'figure', chart, alt: image.text.trim() || describeChart(chart) });
    }
  }
  endWords();
  return blocks;
}

type Dress = Omit<Inline, 'text'>;

function inlinesOf(tokens: readonly Token[], dress: Dress = {}): Inline[] {
  return tokens.flatMap((token): Inline[] => {
    switch (token.type) {
      case 'strong':
        return inlinesOf((token as Tokens.Strong).tokens, { ...dress, bold: true });
      case 'em':
        return inlinesOf((token as Tokens.Em).tokens, { ...dress, italic: true });
      case 'link': {
        const link = token as Tokens.Link;
        const href = safeAddress(link.href);
        return inlinesOf(link.tokens, href ? { ...dress, href } : dress);
      }
      case 'del':
        return inlinesOf((token as Tokens.Del).tokens, dress);
      case 'br':
        return [{ ...dress, text: '\n' }];
      case 'escape':
      case 'codespan':
        return [{ ...dress, text: (token as Tokens.Escape).text }];
      case 'text': {
        const text = token as Tokens.Text;
        return text.tokens
          ? inlinesOf(text.tokens, dress)
          : [{ ...dress, text: text.text.replace(/\n/g, ' ') }];
      }
      case 'image':
        return [];
      default:
        return [{ ...dress, text: token.raw.replace(/\n/g, ' ') }];
    }
  });
}
