import type { Block, LetterDocument } from '../../../letters/document-tree.ts';
import { bold, heading, list, paragraph, paragraphs, text } from '../../../programs/outputs/blocks.ts';
import { moment } from '../../../web/format.ts';
import { whatDecides } from '../../selection.ts';
import { nameIn, type RecordMaterial } from '../record-material.ts';
import { candidateSection } from './candidate-section.ts';
import { committeeSection } from './committee-section.ts';
import { decisionSection } from './decision-section.ts';
import { frameSection } from './frame-section.ts';
import { proposalSection } from './proposal-section.ts';
import { trailSection } from './trail-section.ts';

/** How a selection is closed: by whom, when, with what still open, and why all the same. */
interface Closing {
  readonly by: string;
  readonly at: Date;
  readonly open: readonly string[];
  readonly reason: string;
}

const confidential = 'confidential: for the committee and whoever the conference lets audit it';

/**
 * A selection's record as a document that another committee can follow without the program.
 * @param closing null for a draft, which says so on each page
 * @param at when it is written
 */
export function recordDocument(material: RecordMaterial, closing: Closing | null, at: Date): LetterDocument {
  const { conference, selection, season, timeZone } = material;
  const what = closing ? 'Record of a selection' : 'Draft, not the record';
  return {
    title: `${closing ? '' : 'Draft: '}${selection.title}, ${season.name}`,
    author: conference,
    subject: `${what}, season ${season.name}`,
    language: 'en-US',
    footer: closing ? confidential.replace(/^c/, 'C') : `Draft, not the record · ${confidential}`,
    issuedAt: at,
    ...(closing ? {} : { mark: `DRAFT of ${moment(at, timeZone)}, not the record` }),
    blocks: [
      {
        kind: 'masthead',
        over: [text(`${conference} · ${what}`)],
        title: [text(selection.title)],
        under: [text(`Season ${season.name} · ${state(material, closing, at)}`)],
      },
      paragraph(bold(whatDecides)),
      paragraph(
        text(
          'What the program computes rests on what observers saw and marked: every figure has its uncertainty beside it, and none says by itself who is better. The addresses under each official lead to the page of the program that explains their figures.',
        ),
      ),
      { kind: 'contents' },
      ...(closing ? closed(closing, material) : []),
      ...frameSection(material),
      ...decisionSection(material),
      ...proposalSection(material),
      ...committeeSection(material),
      ...candidateSection(material),
      ...trailSection(material),
    ],
  };
}

const state = ({ selection, timeZone }: RecordMaterial, closing: Closing | null, at: Date): string =>
  closing
    ? `closed ${moment(closing.at, timeZone)}`
    : `as of ${moment(at, timeZone)}, while ${selection.state}`;

function closed({ by, at, open, reason }: Closing, material: RecordMaterial): Block[] {
  const who = `Closed by ${nameIn(material, by)} ${moment(at, material.timeZone)}.`;
  return [
    heading(2, 'Closing'),
    ...(open.length === 0
      ? [paragraph(text(`${who} Nothing was left open.`))]
      : [
          paragraph(text(`${who} Left open:`)),
          list(open),
          paragraph(bold('Closed all the same, because: ')),
          ...paragraphs(reason),
        ]),
  ];
}
