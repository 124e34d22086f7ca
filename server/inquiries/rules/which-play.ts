import { clockInWords } from '../../football/clock-words.ts';
import { downOrdinals } from '../../football/play-in-words.ts';
import { InquiryRefused } from './states.ts';

/** Of a play what both teams saw on the field: nothing of who did what, or how well. */
export interface PlainPlay {
  readonly playId: string;
  readonly quarter: number | null;
  readonly clockSeconds: number | null;
  readonly down: number | null;
  readonly distance: number | null;
  readonly kind: string;
}

export const quarterInWords = (quarter: number): string =>
  quarter > 4 ? `overtime ${quarter - 4}` : `Q${quarter}`;

/** `Q2 7:31, 2nd and 5, run`, with what is known. */
export function plainPlayInWords({
  quarter,
  clockSeconds,
  down,
  distance,
  kind,
}: Omit<PlainPlay, 'playId'>): string {
  const when = [
    quarter === null ? '' : quarterInWords(quarter),
    clockSeconds === null ? '' : clockInWords(clockSeconds),
  ].filter((part) => part !== '');
  const toGo = down === null ? '' : `${downOrdinals[down]}${distance === null ? '' : ` and ${distance}`}`;
  return [when.join(' '), toGo, kind].filter((part) => part !== '').join(', ');
}

/** How many plays are named to somebody whose play is not there. */
const named = 3;

/** Plays of the quarter that are nearest in time to a clock, nearest first; of a quarter without clocks none. */
function nearestPlays(
  plays: readonly PlainPlay[],
  { quarter, clockSeconds }: { quarter: number; clockSeconds: number },
): PlainPlay[] {
  const away = ({ clockSeconds: own }: PlainPlay) =>
    Math.abs((own ?? Number.POSITIVE_INFINITY) - clockSeconds);
  return plays
    .filter((play) => play.quarter === quarter && play.clockSeconds !== null)
    .sort((one, other) => away(one) - away(other))
    .slice(0, named);
}

/**
 * Which play of the log is asked about: the one chosen, or the one at that quarter and clock.
 *
 * @param wanted `notInLog`: the nearest were looked at, and it is none of them
 * @returns null where the log does not have it: an empty log, or `notInLog`
 * @throws InquiryRefused naming the nearest plays, or that its quarter has none to name
 */
export function playAskedAbout(
  plays: readonly PlainPlay[],
  wanted: { playId: string | null; quarter: number | null; clockSeconds: number | null; notInLog: boolean },
): PlainPlay | null {
  const { playId, quarter, clockSeconds, notInLog } = wanted;
  if (playId !== null) {
    const chosen = plays.find((play) => play.playId === playId);
    if (!chosen)
      throw new InquiryRefused('This play is not in the log of this game; choose another.', 'playId');
    return chosen;
  }
  if (quarter === null || clockSeconds === null)
    throw new InquiryRefused('Choose the play, or write its quarter and its clock.', 'playId');
  const exact = plays.find((play) => play.quarter === quarter && play.clockSeconds === clockSeconds);
  if (exact) return exact;
  const nearest = nearestPlays(plays, { quarter, clockSeconds });
  if (notInLog || plays.length === 0) return null;
  const none = `There is no play at ${quarterInWords(quarter)} ${clockInWords(clockSeconds)} in the log of this game`;
  if (nearest.length === 0)
    throw new InquiryRefused(
      `${none}, and none with a clock in that quarter. Choose one of its plays, or say that it is none.`,
      'playId',
    );
  const list = new Intl.ListFormat('en-US').format(nearest.map((play) => `“${plainPlayInWords(play)}”`));
  throw new InquiryRefused(
    `${none}; nearest are ${list}. Choose one of them, or say that it is none.`,
    'playId',
  );
}

/** Seconds of `7:31`; null for what is no clock of a quarter. */
export function clockFrom(text: string): number | null {
  const parts = /^(\d{1,2}):([0-5]\d)$/.exec(text.trim());
  if (!parts) return null;
  const seconds = Number(parts[1]) * 60 + Number(parts[2]);
  return seconds <= 900 ? seconds : null;
}
