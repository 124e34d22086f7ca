import type { Warning } from '../filing/whole.ts';

/** The others are folded away. */
const shown = 8;

/** What tells that a report is not whole, each with the way to its place. It can be filed so. */
export function WholeWarnings({
  warnings,
  onGo,
}: {
  warnings: readonly Warning[];
  onGo(warning: Warning): void;
}) {
  if (warnings.length === 0) return null;
  const list = (some: readonly Warning[]) => (
    <ul class="missing">
      {some.map((warning) => (
        <li key={`${warning.what} ${warning.says}`}>
          <button type="button" class="link" onClick={() => onGo(warning)}>
            {warning.says}
          </button>
        </li>
      ))}
    </ul>
  );
  return (
    <div class="notice warn whole-warnings">
      <p>
        {warnings.length === 1 ? 'One thing tells' : `${warnings.length} things tell`} that the report is not
        whole. It can be filed so; better look first. Each opens at its place.
      </p>
      {list(warnings.slice(0, shown))}
      {warnings.length > shown && (
        <details>
          <summary>{warnings.length - shown} more</summary>
          {list(warnings.slice(shown))}
        </details>
      )}
    </div>
  );
}
