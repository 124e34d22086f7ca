import { useEffect, useState } from 'preact/hooks';
import type { EntrySession } from './entry-session.ts';

/** Shows the component anew whenever something of the session changed: what was entered, or how far it has got. */
export function useSession(session: EntrySession): void {
  const [, count] = useState(0);
  const shown = session.sending;
  useEffect(() => {
    const again = () => count((before) => before + 1);
    if (session.sending !== shown) again(); // changed after it was shown, before anybody listened
    return session.subscribe(again);
  }, [session]);
}
