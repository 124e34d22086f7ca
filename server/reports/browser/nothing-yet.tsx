import type { EntrySession } from './entry-session.ts';
import { signInAddress } from './sign-in-address.ts';
import { useSession } from './use-session.ts';

export function NothingYet({ session }: { session: EntrySession }) {
  useSession(session);
  const { waitingFor, message } = session.sending;
  return (
    <div class="notice warn" role="status">
      <p>
        {waitingFor === 'signed out' ? (
          <>
            You are signed out. <a href={signInAddress()}>Sign in</a> to open this report.
          </>
        ) : waitingFor === 'no connection' ? (
          'This report has not been opened on this device before, and the server cannot be reached. It opens as soon as there is a connection.'
        ) : (
          message || 'Opening the report …'
        )}
      </p>
    </div>
  );
}
