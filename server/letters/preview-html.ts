import Handlebars from 'handlebars';
import { describeChart } from './chart.ts';
import type { Block, Inline, LetterDocument } from './document-tree.ts';

/**
 * The document tree as plain HTML, for the live preview beside a template. It shows words, order and emphasis;
 * the PDF shows the page. A plot appears as its description. Every text is escaped.
 */
export function documentToHtml(document: LetterDocument): string {
  return document.blocks.map(blockToHtml).join('\n');
}

const escaped = (text: string): string => Handlebars.escapeExpression(text);

function inlines(list: readonly Inline[]): string {
  return list
    .map(({ text, bold, italic, href }) => {
      let html = escaped(text).replace(/\n/g, '<br>');
      if (italic) html = `<em>${html}</em>`;
      if (bold) html = `<strong>${html}</strong>`;
      return href ? `<a href="${escaped(href)}" rel="noreferrer">${html}</a>` : html;
    })
    .join('');
}

const many = (blocks: readonly Block[]): string => blocks.map(blockToHtml).join('');

function blockToHtml(block: Block): string {
  switch (block.kind) {
    case 'masthead':
      return `<p class="soft">${inlines(block.over)}</p><h2>${inlines(block.title)}</h2><p class="soft">${inlines(block.under)}</p><hr>`;
    case 'heading':
      // The page's own heading is the first level.
      return `<h${block.level + 1}>${inlines(block.inlines)}</h${block.level + 1}>`;
    case 'paragraph':
      return `<p>${inlines(block.inlines)}</p>`;
    case 'quote':
      return `<blockquote>${many(block.blocks)}</blockquote>`;
    case 'list': {
      const items = block.items.map((item) => `<li>${many(item)}</li>`).join('');
      return block.ordered ? `<ol start="${block.start}">${items}</ol>` : `<ul>${items}</ul>`;
    }
    case 'table': {
      const cells = (row: readonly Inline[][], tag: string) =>
        row
          .map(
            (cell, index) =>
              `<${tag}${block.align[index] === 'right' ? ' class="num"' : ''}>${inlines(cell)}</${tag}>`,
          )
          .join('');
      const rows = block.rows.map((row) => `<tr>${cells(row, 'td')}</tr>`).join('');
      return `<div class="scroll" tabindex="0"><table><thead><tr>${cells(block.header, 'th')}</tr></thead><tbody>${rows}</tbody></table></div>`;
    }
    case 'figure':
      return `<p class="plot">Plot. ${escaped(block.alt || describeChart(block.chart))}</p>`;
    case 'contents':
      return '<p class="plot">Contents, with page numbers.</p>';
    case 'rule':
      return '<hr>';
    case 'page-break':
      return '<p class="plot">New page</p>';
  }
}
