import { clockInWords } from '../football/clock-words.ts';
import type { Block, LetterDocument } from '../letters/document-tree.ts';
import { bold, heading, paragraph, paragraphs, text } from '../programs/outputs/blocks.ts';
import { dayInWords } from '../text/days.ts';
import { type Ruling, rulingMeans } from './rules/categories-and-rulings.ts';
import { plainPlayInWords, quarterInWords } from './rules/which-play.ts';
import type { Inquiry } from './stores/inquiry-store.ts';

interface Lettered {
  readonly conference: string;
  readonly inquiry: Inquiry;
  readonly ruling: Ruling;
  readonly rule: string;
  readonly reason: string;
  /** What the conference says at the end of each. */
  readonly notice: string;
  readonly answeredAt: Date;
  /** Today in the conference's zone, YYYY-MM-DD. */
  readonly day: string;
}

/** Which play it is about, as its letter and its pages say. */
export const playOfInquiry = ({
  play,
  quarter,
  clockSeconds,
}: Pick<Inquiry, 'play' | 'quarter' | 'clockSeconds'>): string =>
  play
    ? plainPlayInWords(play)
    : [
        quarter === null ? '' : quarterInWords(quarter),
        clockSeconds === null ? '' : clockInWords(clockSeconds),
      ]
        .filter((part) => part !== '')
        .join(' ');

/** The letter to a team: what it asked, the ruling, the rule, the reason. It names nobody and holds no grade. */
export function answerLetter(lettered: Lettered): LetterDocument {
  const { conference, inquiry, ruling, rule, reason, notice, answeredAt, day } = lettered;
  const again = inquiry.reopenedAt !== null;
  const under = `${dayInWords(day)} · to ${inquiry.team}`;
  return {
    title: `Answer to inquiry ${inquiry.number} of ${inquiry.team}`,
    author: conference,
    subject: `Inquiry ${inquiry.number}, season ${inquiry.season}`,
    language: 'en-US',
    footer: `${conference} · Inquiry ${inquiry.number} · for ${inquiry.team} alone`,
    issuedAt: answeredAt,
    blocks: [
      {
        kind: 'masthead',
        over: [text(`${conference} · ${again ? 'Answer after new film' : 'Answer to an inquiry'}`)],
        title: [text(`Inquiry ${inquiry.number}: ${inquiry.game}`)],
        under: [text(under)],
      },
      heading(2, 'What you asked'),
      paragraph(bold('Game: '), text(`${inquiry.game}, week ${inquiry.week}, season ${inquiry.season}`)),
      paragraph(bold('Play: '), text(playOfInquiry(inquiry))),
      paragraph(bold('About: '), text(inquiry.category)),
      ...paragraphs(inquiry.question),
      heading(2, 'What we hold'),
      paragraph(bold(`The ruling on the field: ${ruling}. `), text(rulingMeans[ruling])),
      paragraph(bold('Rule: '), text(rule)),
      ...paragraphs(reason),
      ...closing(notice),
    ],
  };
}

const closing = (notice: string): Block[] =>
  notice === '' ? [] : [heading(3, 'Please note'), ...paragraphs(notice)];
