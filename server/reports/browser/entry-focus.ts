import { useEffect, useRef } from 'preact/hooks';
import type { Fact } from '../../football/play.ts';

export function isText(target: HTMLElement): boolean {
  if (target instanceof HTMLTextAreaElement || target instanceof HTMLSelectElement) return true;
  return target instanceof HTMLInputElement && !['checkbox', 'radio', 'button'].includes(target.type);
}

/** Arrow keys move between the buttons of one list. */
export function moveWithin(target: HTMLElement, by: 1 | -1): boolean {
  const list = target.closest('[data-arrows]');
  if (!list || isText(target)) return false;
  // What stands beside an entry of the list is reached by the Tab key.
  const buttons = [...list.querySelectorAll<HTMLButtonElement>('button:not(:disabled, .duty-look)')];
  const next = buttons[buttons.indexOf(target as HTMLButtonElement) + by];
  next?.focus();
  return true;
}

/** Opens what hides a fact of the play in view, and goes to it. */
export function goToFact(fact: Fact): void {
  const field = document.querySelector<HTMLElement>(`.facts-card #fact-${fact}`);
  for (let around = field?.closest('details'); around; around = around.parentElement?.closest('details'))
    around.open = true;
  requestAnimationFrame(() => {
    const place = field ?? document.querySelector<HTMLElement>('#play-pane');
    place?.focus();
    place?.scrollIntoView({ block: 'center' });
  });
}

/** Whether the last act on the page was by touch: then no field may take the focus, as a keyboard would come up. */
export function useSaysBy(): { readonly current: 'touch' | 'keys' } {
  const by = useRef<'touch' | 'keys'>('keys');
  useEffect(() => {
    const pointer = (event: PointerEvent) => {
      by.current = event.pointerType === 'touch' ? 'touch' : 'keys';
    };
    const key = () => {
      by.current = 'keys';
    };
    document.addEventListener('pointerdown', pointer, true);
    document.addEventListener('keydown', key, true);
    return () => {
      document.removeEventListener('pointerdown', pointer, true);
      document.removeEventListener('keydown', key, true);
    };
  }, []);
  return by;
}
