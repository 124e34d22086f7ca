import { type Cue, placed } from './cue.ts';
import { dropFrameTimecode } from './frames.ts';

/** The format has three digits for an event. */
const mostEvents = 999;

/**
 * Cues as a CMX 3600 edit decision list in drop-frame time code: an event for each, cut after cut, pictures only. `AX` is
 * a source outside of tapes and `BL` black, which stands where there is no film yet, or cards. Of the format, which was never
 * published as a standard, this is what readers agree on (common practice, no source).
 *
 * @throws RangeError with more than 999 cues, and as `placed`.
 */
export function editDecisionList(title: string, cues: readonly Cue[]): string {
  if (cues.length > mostEvents) {
    throw new RangeError(`an edit decision list holds ${mostEvents} events, not ${cues.length}`);
  }
  const events = placed(cues).map(({ title: name, start, frames, film, card }, at) => {
    const first = film?.firstFrame ?? 0;
    const codes = [first, first + frames, start, start + frames].map(dropFrameTimecode).join(' ');
    const event = `${String(at + 1).padStart(3, '0')}  ${film ? 'AX' : 'BL'}       V     C        ${codes}`;
    const notes = [
      `* FROM CLIP NAME: ${oneLine(name)}`,
      film ? `* SOURCE FILE: ${oneLine(film.url)}` : card ? '* CARDS OF THE REEL' : '* FILM MISSING',
    ];
    return [event, ...notes].join('\r\n');
  });
  return `${[`TITLE: ${oneLine(title).slice(0, 70)}`, 'FCM: DROP FRAME', '', ...events].join('\r\n')}\r\n`;
}

/** The format is of lines and of ASCII. */
const oneLine = (text: string) =>
  text
    .normalize('NFKD')
    .replaceAll(/\s+/g, ' ')
    .replaceAll(/[^\x20-\x7e]/g, '')
    .trim();
