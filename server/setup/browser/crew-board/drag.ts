type Dragging = {
  /** Whether what lies here can be taken up. */
  mayTake: (handle: HTMLElement) => boolean;
  onTaken: (handle: HTMLElement) => void;
  /** Let go over something with `data-at` or the panel (`panel` true), or over neither. */
  onPut: (target: { at?: string; panel: boolean }) => void;
  onLetGo: () => void;
};

const dragsFrom = 6;
const edge = 70;

/**
 * Drags handles below `root` by mouse, pen or finger. A finger drags by the grip only: elsewhere it scrolls the page.
 * What is let go of without being moved is a click. Near the window's edge the page scrolls on.
 */
export function dragHandles(root: HTMLElement, panel: HTMLElement, drag: Dragging): void {
  let down: { handle: HTMLElement; id: number; x: number; y: number } | undefined;
  let ghost: HTMLElement | undefined;
  let target: Element | undefined;
  let at = { x: 0, y: 0 };

  const targetBelow = () => {
    const below = document.elementFromPoint(at.x, at.y);
    return below?.closest('.handle[data-at]') ?? below?.closest('[data-seat]') ?? below?.closest('.no-crew');
  };
  function mark(now: Element | undefined): void {
    if (now === target) return;
    target?.classList.remove('over');
    now?.classList.add('over');
    target = now;
  }
  function follow(): void {
    if (ghost) ghost.style.transform = `translate(${at.x + 8}px, ${at.y + 8}px)`;
    mark(targetBelow() ?? undefined);
  }
  function scrollOn(): void {
    if (!ghost) return;
    const list = panel.getBoundingClientRect();
    // The list stands below the crews on a narrow window: there is its upper edge the lower one.
    const foot =
      list.left <= root.getBoundingClientRect().left + 4 ? Math.min(list.top, innerHeight) : innerHeight;
    if (!panel.contains(target ?? null) && at.y > foot - edge) scrollBy(0, 9);
    else if (at.y < edge) scrollBy(0, -9);
    follow();
    requestAnimationFrame(scrollOn);
  }
  function end(): void {
    mark(undefined);
    ghost?.remove();
    ghost = undefined;
    down = undefined;
    root.classList.remove('dragging');
  }

  root.addEventListener('pointerdown', (event) => {
    const from = event.target as Element;
    const handle = from.closest<HTMLElement>('.handle');
    if (!handle || event.button !== 0 || !event.isPrimary || !drag.mayTake(handle)) return;
    if (event.pointerType === 'touch' && !from.closest('.grip')) return;
    down = { handle, id: event.pointerId, x: event.clientX, y: event.clientY };
  });
  document.addEventListener('pointermove', (event) => {
    if (!down || event.pointerId !== down.id) return;
    at = { x: event.clientX, y: event.clientY };
    if (ghost) return follow();
    if (Math.hypot(at.x - down.x, at.y - down.y) < dragsFrom) return;
    ghost = down.handle.cloneNode(true) as HTMLElement;
    ghost.classList.add('ghost');
    ghost.inert = true;
    delete ghost.dataset.at;
    ghost.style.width = `${down.handle.offsetWidth}px`;
    root.append(ghost);
    root.classList.add('dragging');
    drag.onTaken(down.handle);
    requestAnimationFrame(scrollOn);
    follow();
  });
  document.addEventListener('pointerup', (event) => {
    if (!down || event.pointerId !== down.id) return;
    if (ghost) {
      at = { x: event.clientX, y: event.clientY };
      const put = targetBelow();
      // The click that follows is none.
      document.addEventListener('click', stop, { capture: true, once: true });
      setTimeout(() => document.removeEventListener('click', stop, { capture: true }));
      const data = put instanceof HTMLElement ? put.dataset : undefined;
      end();
      drag.onPut({ at: data?.at ?? data?.seat, panel: put === panel });
    } else end();
  });
  document.addEventListener('pointercancel', (event) => {
    if (!down || event.pointerId !== down.id) return;
    const dragged = ghost !== undefined;
    end();
    if (dragged) drag.onLetGo();
  });
  document.addEventListener('keydown', ({ key }) => {
    if (key !== 'Escape' || !ghost) return;
    end();
    drag.onLetGo();
  });
}

const stop = (event: Event) => {
  event.preventDefault();
  event.stopPropagation();
};
