import { safeAddress } from './escape-markdown.ts';
import type { LetterPlay } from './letter-data.ts';
import type { SeasonMark } from './season-source.ts';

/** How a play is named in a letter: week, teams, quarter, clock, film timecode with its link. */
export function playLine(mark: SeasonMark): LetterPlay {
  const { quarter, clockSeconds } = mark.play;
  return {
    game: mark.game,
    week: mark.week,
    quarter: quarter === undefined || quarter === null ? '' : quarter > 4 ? 'OT' : String(quarter),
    clock: typeof clockSeconds === 'number' ? minutes(clockSeconds) : null,
    film: mark.filmSeconds === null ? null : timecode(mark.filmSeconds),
    filmUrl: filmAddress(mark.filmLink, mark.filmSeconds),
    finding: mark.finding,
    comment: mark.comment.trim() || null,
  };
}

function minutes(seconds: number): string {
  return `${Math.floor(seconds / 60)}:${String(Math.floor(seconds % 60)).padStart(2, '0')}`;
}

function timecode(seconds: number): string {
  const whole = Math.floor(seconds);
  const two = (value: number) => String(value).padStart(2, '0');
  return `${two(Math.floor(whole / 3600))}:${two(Math.floor(whole / 60) % 60)}:${two(whole % 60)}`;
}

/** The film's address at that second, as a media fragment (W3C Media Fragments URI 1.0, section 4.2.1). */
function filmAddress(link: string | null, seconds: number | null): string | null {
  const address = safeAddress(link);
  if (address === null || seconds === null) return address;
  return address.includes('#') ? address : `${address}#t=${Math.floor(seconds)}`;
}
