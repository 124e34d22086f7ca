import { useState } from 'preact/hooks';
import type { Code } from '../../football/codes.ts';
import type { Play } from '../../football/play.ts';
import { type Chip, type ChipRow, chipRows, litIn, touched } from '../entry/play-chips.ts';

interface Props {
  play: Play;
  code: Code;
  open: boolean;
  onPlay(play: Play, label: string): void;
}

/** One of the rows of chips: only what makes sense with what was touched already, each in its place. */
export function ChipRowOf({ play, code, open, onPlay, row: key }: Props & { row: ChipRow['key'] }) {
  const [all, showAll] = useState(false);
  const row = chipRows(play, all).find((other) => other.key === key)!;
  const lit = litIn(row, play, code);
  if (row.chips.length === 0) return null;
  return (
    <fieldset class="chips" data-row={key} data-arrows>
      <legend>{row.title}</legend>
      {row.chips.map((chip) => (
        <ChipButton
          key={chip.key}
          chip={chip}
          lit={lit.has(chip)}
          open={open}
          onTouch={() => {
            onPlay(touched(chip, row, play, code), inWords(chip));
            showAll(false);
          }}
        />
      ))}
      {key === 'what happened' && open && (
        <button type="button" class="chip other" aria-expanded={all} onClick={() => showAll(!all)}>
          {all ? 'Fewer' : 'Another kind'}
        </button>
      )}
    </fieldset>
  );
}

function ChipButton(props: { chip: Chip; lit: boolean; open: boolean; onTouch(): void }) {
  const { chip, lit, open, onTouch } = props;
  return (
    <button type="button" class="chip" aria-pressed={lit} disabled={!open} onClick={onTouch}>
      <span>{chip.label}</span>
      {chip.detail && <small> {chip.detail}</small>}
    </button>
  );
}

const inWords = ({ label, detail }: Chip) => [label, detail].filter(Boolean).join(' ').toLowerCase();
