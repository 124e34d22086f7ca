import { useEffect, useRef, useState } from 'preact/hooks';
import { type Microphone, openMicrophone, type Take } from './microphone.ts';

type Recording =
  | { readonly is: 'idle' | 'asking' }
  | { readonly is: 'counting'; readonly left: number }
  | { readonly is: 'recording'; readonly seconds: number; readonly level: number; readonly heard: boolean };

const countIn = 3;
const everyMs = 80;

/**
 * Records from the microphone: asked for, counted in, stopped.
 * @param on told when recording begins, and what was recorded
 */
export function useRecorder(
  mostSeconds: number,
  on: { onBegin(): void; onTake(take: Take): void; onFault(sentence: string): void },
) {
  const [state, setState] = useState<Recording>({ is: 'idle' });
  const microphone = useRef<Microphone>();
  const timer = useRef<number>();
  const now = useRef(state);
  const become = (next: Recording) => {
    now.current = next;
    setState(next);
  };
  const close = () => {
    clearInterval(timer.current);
    microphone.current?.close();
    microphone.current = undefined;
    become({ is: 'idle' });
  };
  useEffect(() => {
    const stay = (event: BeforeUnloadEvent) => now.current.is === 'recording' && event.preventDefault();
    window.addEventListener('beforeunload', stay);
    return () => {
      window.removeEventListener('beforeunload', stay);
      close();
    };
  }, []);

  const stop = async () => {
    const open = microphone.current;
    if (!open || now.current.is !== 'recording') return close();
    clearInterval(timer.current);
    const take = await open.end();
    close();
    on.onTake(take);
  };
  const record = () => {
    const open = microphone.current!;
    const begun = performance.now();
    let heard = false;
    open.begin();
    on.onBegin();
    const tell = () => {
      const level = open.level();
      const seconds = (performance.now() - begun) / 1000;
      heard ||= level >= 0.02;
      become({ is: 'recording', seconds, level, heard });
      if (seconds >= mostSeconds) void stop();
    };
    tell();
    timer.current = window.setInterval(tell, everyMs);
  };
  const start = async () => {
    if (now.current.is !== 'idle') return;
    become({ is: 'asking' });
    const isGivenUp = () => now.current.is !== 'asking';
    try {
      const opened = await openMicrophone();
      // Given up while the browser asked.
      if (isGivenUp()) return opened.close();
      microphone.current = opened;
    } catch (error) {
      if (isGivenUp()) return;
      become({ is: 'idle' });
      on.onFault((error as Error).message);
      return;
    }
    let left = countIn;
    become({ is: 'counting', left });
    timer.current = window.setInterval(() => {
      left -= 1;
      if (left > 0) return become({ is: 'counting', left });
      clearInterval(timer.current);
      record();
    }, 1000);
  };
  return { state, start, stop, giveUp: close };
}
