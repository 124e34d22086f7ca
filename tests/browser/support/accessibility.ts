import axe from 'axe-core';
import type { Page } from 'playwright-core';

/** What axe-core finds against WCAG 2.2, levels A and AA: rule, and where. Empty when nothing. */
export async function accessibilityProblems(page: Page): Promise<string[]> {
  await page.evaluate(axe.source);
  return page.evaluate(async () => {
    const tags = ['wcag2a', 'wcag2aa', 'wcag21a', 'wcag21aa', 'wcag22aa'];
    const { axe } = window as unknown as { axe: typeof import('axe-core') };
    const { violations } = await axe.run(document, { runOnly: { type: 'tag', values: tags } });
    return violations.flatMap(({ id, nodes }) => nodes.map((node) => `${id}: ${node.target.join(' ')}`));
  });
}

/**
 * Takes out what only repeats, for axe-core, which needs seconds for a long table: of rows, list items and the like that
 * differ in their words alone, two stay in each place. Elements, classes, states and where something is written are
 * what its rules go by. The page cannot be used afterwards.
 */
export async function leaveOutRepeats(page: Page): Promise<void> {
  await page.evaluate(() => {
    const ownValue = new Set([
      'class',
      'style',
      'role',
      'type',
      'hidden',
      'open',
      'disabled',
      'scope',
      'lang',
    ]);
    const kindOf = (element: Element): string => {
      const attributes = [...element.attributes]
        .map(({ name, value }) => (ownValue.has(name) ? `${name}=${value.replaceAll(/\d+/g, '')}` : name))
        .sort();
      const inside = [...element.childNodes].map((node) =>
        node instanceof Element ? kindOf(node) : node.textContent?.trim() ? 'words' : '',
      );
      return `<${element.tagName} ${attributes.join(' ')}>${inside.join('')}</>`;
    };
    for (const parent of document.querySelectorAll(
      'main, main :is(tbody, ul, ol, select, optgroup, svg, g, section, div, form)',
    )) {
      if (parent.children.length < 4 || !parent.isConnected) continue;
      const seen = new Map<string, number>();
      for (const child of [...parent.children]) {
        const kind = kindOf(child);
        const times = (seen.get(kind) ?? 0) + 1;
        seen.set(kind, times);
        if (times > 2) child.remove();
      }
    }
  });
}
