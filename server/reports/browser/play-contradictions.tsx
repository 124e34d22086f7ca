import type { Contradiction } from '../../football/contradictions/index.ts';
import type { Fact } from '../../football/play.ts';
import { playFields } from '../entry/play-fields.ts';

/** What this play says against itself or the plays before it. It is kept as it is until the observer mends it. */
export function PlayContradictions(props: { found: readonly Contradiction[]; onMend(fact: Fact): void }) {
  if (props.found.length === 0) return null;
  return (
    <div class="notice warn contradictions" role="note">
      <p>
        <strong>This cannot be right.</strong>
      </p>
      <ul>
        {props.found.map(({ fact, says, fix }) => (
          <li key={says}>
            {says} <span class="soft">{fix}</span>{' '}
            <button type="button" class="second small" onClick={() => props.onMend(fact)}>
              {playFields.find((field) => field.fact === fact)?.label}
            </button>
          </li>
        ))}
      </ul>
    </div>
  );
}
