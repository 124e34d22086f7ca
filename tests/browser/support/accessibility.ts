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
