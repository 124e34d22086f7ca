import { effectOf } from '../../../duties/finding.ts';
import type { EntryMark } from '../../entry/entry-snapshot.ts';
import { byFactsOf } from '../marking.ts';
import { FindingTag } from './finding-tag.tsx';
import type { PaneProps } from './pane-props.ts';

/** The marks of the play in view, whatever became of their position or duty since. */
export function MarkList({
  marks,
  state,
  owed,
  open,
  marking,
  watched,
}: PaneProps & { marks: readonly EntryMark[] }) {
  const title = new Map(state.duties.map((duty) => [duty.key, duty.title]));
  const letter = new Map(owed.map((other) => [other.position, other.letter]));
  // The choices above have no place for such a mark, so it is taken away here.
  const cannotCount = (mark: EntryMark) =>
    !letter.has(mark.position)
      ? `nobody is entered as working as ${mark.position}`
      : title.has(mark.dutyKey)
        ? ''
        : 'the rubric no longer has its duty';
  const notSoFar = (mark: EntryMark) => {
    const official = owed.find((other) => other.position === mark.position);
    if (!official || cannotCount(mark)) return '';
    if (!watched(mark.position)) return 'will not count: not watched';
    const byFacts = byFactsOf(official, mark.dutyKey);
    return byFacts === 'owed' ? '' : `will not count so far: ${byFacts}`;
  };
  return (
    <div class="card">
      <h3>Marks on this play</h3>
      {marks.length === 0 ? (
        <p class="soft">None yet.</p>
      ) : (
        <ul class="mark-list" data-arrows>
          {marks.map((mark) => (
            <li key={mark.markId}>
              <button type="button" onClick={() => marking.show(mark)}>
                <span class="letter">{letter.get(mark.position) ?? '?'}</span>
                <span class="duty-text">
                  {title.get(mark.dutyKey) ?? mark.dutyKey}
                  <small>
                    {mark.comment || (effectOf(mark.finding) === 'not met' ? 'Comment to come' : '')}
                  </small>
                  {notSoFar(mark) && <small class="not-so-far">{notSoFar(mark)}</small>}
                </span>
                <FindingTag mark={mark} />
              </button>
              {open && cannotCount(mark) && (
                <p class="wrong">
                  This mark cannot count: {cannotCount(mark)}.{' '}
                  <button type="button" class="second small" onClick={() => marking.remove(mark)}>
                    Remove mark
                  </button>
                </p>
              )}
            </li>
          ))}
        </ul>
      )}
    </div>
  );
}
