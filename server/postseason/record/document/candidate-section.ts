import type { Position } from '../../../football/positions.ts';
import type { Block, Inline } from '../../../letters/document-tree.ts';
import { bold, heading, paragraph, table, text } from '../../../programs/outputs/blocks.ts';
import { chanceText } from '../../../results/pages/rank-words.ts';
import type { Holds } from '../../../selection/finding.ts';
import { capital, number } from '../../../web/format.ts';
import type { CandidateLine } from '../../candidate-view.ts';
import { rankRange } from '../../candidate-words.ts';
import type { Basis } from '../../committee/basis.ts';
import { nameIn, type RecordMaterial } from '../record-material.ts';

/** Per game and position: who was considered, in tiers, with figures, findings and where each figure comes from. */
export function candidateSection(material: RecordMaterial): Block[] {
  const { basis, selection } = material;
  if (!basis)
    return [
      heading(2, 'Candidates'),
      paragraph(text('No candidates are kept: they are from when preparing ends.')),
    ];
  return basis.games.flatMap(({ gameId, positions }) => {
    const game = selection.games.find(({ id }) => id === gameId);
    return [
      heading(2, `Candidates, ${game?.name ?? 'a game taken out'}`),
      ...positions.flatMap(({ position, lines }) => ofPosition(material, basis, position, lines)),
    ];
  });
}

function ofPosition(
  material: RecordMaterial,
  { model, otherModel, top }: Basis,
  position: Position,
  lines: readonly CandidateLine[],
): Block[] {
  if (lines.length === 0)
    return [heading(3, capital(position)), paragraph(text('Nobody is graded in this position.'))];
  const enough = lines.filter(({ rank }) => rank).length <= top;
  return [
    heading(3, capital(position)),
    table(
      [
        'Official',
        'Tier',
        'Likely rank',
        'Grade',
        'From, to',
        `Top ${top}: ${model}`,
        `Top ${top}: ${otherModel}`,
        'Games',
      ],
      lines.map((line) => [
        nameIn(material, line.officialId),
        line.tier ?? '–',
        rankRange(line.rank),
        number(line.grade?.grade ?? null, 2),
        line.grade ? `${number(line.grade.low, 2)} to ${number(line.grade.high, 2)}` : '–',
        chanceText(line.chance, enough),
        chanceText(line.otherChance, enough),
        line.games,
      ]),
      ['left', 'right', 'left', 'right', 'left', 'right', 'right', 'right'],
    ),
    {
      kind: 'table',
      align: ['left'],
      header: [[text('By the rules, and where the figures are explained')]],
      rows: lines.map((line) => [findingsOf(material, line)]),
    },
  ];
}

function findingsOf(material: RecordMaterial, line: CandidateLine): Inline[] {
  const left = line.leftOut ? ', proposed for no place' : '';
  const far = line.miles === null ? '' : ` ${Math.round(line.miles)} miles from home.`;
  return [
    bold(`${nameIn(material, line.officialId)}, ${mayBeChosen[line.eligible]}${left}. `),
    ...line.findings.flatMap(({ rule, holds, why }, at) => [
      holds === 'met' ? text(rule) : bold(`${rule} ${holds}`),
      text(`: ${why}${at === line.findings.length - 1 ? '.' : '; '}`),
    ]),
    text(`${far}\n${sourceOf(material, line.officialId)}`),
  ];
}

const mayBeChosen: Readonly<Record<Holds, string>> = {
  met: 'eligible',
  'not met': 'not eligible',
  'not known': 'not known whether eligible',
};

/** The page of this program that explains an official's grade and rank. */
const sourceOf = ({ season }: RecordMaterial, officialId: string): string =>
  `/seasons/${season.id}/officials/${officialId}/why`;
