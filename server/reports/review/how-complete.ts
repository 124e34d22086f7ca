import type { Acting } from '../../accounts/acting.ts';
import type { Queryable } from '../../database/transaction.ts';
import { reportWarnings } from '../filing/report-warnings.ts';
import type { Warning } from '../filing/whole.ts';

/** A warning as a page tells it, with where to look. */
interface WarningLine extends Warning {
  readonly href: string | undefined;
}

/** How complete a report is, for the page on which it is reviewed. */
interface HowComplete {
  readonly warnings: readonly WarningLine[];
  /** Those after the first few: a log with holes has many. */
  readonly more: readonly WarningLine[];
  readonly count: number;
}

const firstFew = 8;

/** `corrects`: links lead to where the coordinator mends a play, else to where it is explained. */
export async function howComplete(
  client: Queryable,
  acting: Acting,
  report: { readonly id: string; readonly gameId: string },
  corrects: boolean,
): Promise<HowComplete> {
  const game = `/games/${report.gameId}`;
  const href = ({ what, playId }: Warning) => {
    if (what === 'crew') return corrects ? `${game}/crew` : undefined;
    if (what === 'score' && corrects) return `${game}/change`;
    if (playId === undefined) return `${game}/plays`;
    return corrects ? `${game}/plays/${playId}` : `${game}/plays/${playId}/duties`;
  };
  const warnings = await reportWarnings(client, acting, report.id);
  const lines = warnings.map((warning) => ({ ...warning, href: href(warning) }));
  return { warnings: lines.slice(0, firstFew), more: lines.slice(firstFew), count: lines.length };
}
