import { useRef } from 'preact/hooks';
import type { Pointer } from '../../../timeline/cut.ts';

interface Props {
  readonly pointers: readonly Pointer[];
  /** The frame that is seen: what is drawn on it is shown. */
  readonly tick: number;
  /** Height of the picture by its width. */
  readonly ratio: number;
  readonly chosen: number | null;
  onChoose(at: number): void;
  onChange(at: number, change: Partial<Pointer>): void;
  onRemove(at: number): void;
}

const width = 1000;
const within = (value: number) => Math.min(1, Math.max(0, Math.round(value * 1000) / 1000));
export const shapeWords = {
  circle: 'Circle',
  arrow: 'Arrow',
  spotlight: 'Spotlight',
  cover: 'Cover',
} as const;

/** Pointers on the picture: dragged with a mouse or finger, moved by arrow keys, made larger by + and smaller by -. */
export function PointerLayer({ pointers, tick, ratio, chosen, ...on }: Props) {
  const layer = useRef<SVGSVGElement>(null);
  const height = width * ratio;
  const shown = pointers.flatMap((pointer, at) =>
    tick >= pointer.from && tick < pointer.to ? [{ pointer, at }] : [],
  );

  const drag = (at: number, ends: 'tip' | 'tail') => (event: PointerEvent) => {
    event.preventDefault();
    const box = layer.current!.getBoundingClientRect();
    const handle = event.currentTarget as SVGElement;
    handle.setPointerCapture(event.pointerId);
    handle.focus();
    on.onChoose(at);
    const move = (moved: PointerEvent) => {
      const [x, y] = [
        within((moved.clientX - box.left) / box.width),
        within((moved.clientY - box.top) / box.height),
      ];
      on.onChange(at, ends === 'tip' ? { x, y } : { tailX: x, tailY: y });
    };
    handle.addEventListener('pointermove', move);
    handle.addEventListener('lostpointercapture', () => handle.removeEventListener('pointermove', move), {
      once: true,
    });
  };
  const key = (at: number, ends: 'tip' | 'tail', pointer: Pointer) => (event: KeyboardEvent) => {
    const step = event.shiftKey ? 0.05 : 0.01;
    const [right, down] = { ArrowLeft: [-1, 0], ArrowRight: [1, 0], ArrowUp: [0, -1], ArrowDown: [0, 1] }[
      event.key
    ] ?? [0, 0];
    if (right || down) {
      const [x, y] = ends === 'tip' ? [pointer.x, pointer.y] : [pointer.tailX ?? 0, pointer.tailY ?? 0];
      const to = { x: within(x + right! * step), y: within(y + down! * step) };
      on.onChange(at, ends === 'tip' ? to : { tailX: to.x, tailY: to.y });
    } else if (event.key === '+' || event.key === '=') on.onChange(at, { size: within(pointer.size + 0.01) });
    else if (event.key === '-') on.onChange(at, { size: Math.max(0.02, within(pointer.size - 0.01)) });
    else if (event.key === 'Delete') on.onRemove(at);
    else return;
    event.preventDefault();
    event.stopPropagation();
  };

  return (
    // biome-ignore lint/a11y/noSvgWithoutTitle: each handle in it has its own name
    <svg ref={layer} class="clip-layer" viewBox={`0 0 ${width} ${height}`}>
      <defs>
        <marker
          id="clip-tip"
          viewBox="0 0 10 10"
          refX="9"
          refY="5"
          markerWidth="4"
          markerHeight="4"
          orient="auto"
        >
          <path d="M0 0 L10 5 L0 10 z" />
        </marker>
        <mask id="clip-dark">
          <rect width={width} height={height} fill="#fff" />
          {shown
            .filter(({ pointer }) => pointer.shape === 'spotlight')
            .map(({ pointer, at }) => (
              <circle
                key={at}
                cx={pointer.x * width}
                cy={pointer.y * height}
                r={pointer.size * width}
                fill="#000"
              />
            ))}
        </mask>
      </defs>
      {shown.some(({ pointer }) => pointer.shape === 'spotlight') && (
        <rect class="clip-dark" width={width} height={height} mask="url(#clip-dark)" />
      )}
      {shown.map(({ pointer, at }) => {
        const handle = (ends: 'tip' | 'tail', x: number, y: number, radius: number, name: string) => (
          // biome-ignore lint/a11y/useSemanticElements: a button cannot be drawn into a picture
          <circle
            class={`clip-handle${chosen === at ? ' chosen' : ''}`}
            cx={x * width}
            cy={y * height}
            r={radius}
            role="button"
            tabIndex={0}
            aria-label={`${name}: ${Math.round(x * 100)} % from the left, ${Math.round(y * 100)} % from above`}
            onPointerDown={drag(at, ends)}
            onKeyDown={key(at, ends, pointer)}
            onFocus={() => on.onChoose(at)}
          />
        );
        const name = `${shapeWords[pointer.shape]} ${at + 1}`;
        const tailWords = { arrow: 'where it begins', cover: 'its other corner', circle: '', spotlight: '' }[
          pointer.shape
        ];
        return (
          <g key={at}>
            {pointer.shape === 'arrow' && (
              <line
                class="clip-arrow"
                x1={(pointer.tailX ?? 0) * width}
                y1={(pointer.tailY ?? 0) * height}
                x2={pointer.x * width}
                y2={pointer.y * height}
                marker-end="url(#clip-tip)"
              />
            )}
            {pointer.shape === 'cover' && (
              <rect
                class="clip-cover"
                x={Math.min(pointer.x, pointer.tailX ?? 0) * width}
                y={Math.min(pointer.y, pointer.tailY ?? 0) * height}
                width={Math.abs(pointer.x - (pointer.tailX ?? 0)) * width}
                height={Math.abs(pointer.y - (pointer.tailY ?? 0)) * height}
              />
            )}
            {tailWords && handle('tail', pointer.tailX ?? 0, pointer.tailY ?? 0, 28, `${name}, ${tailWords}`)}
            {handle('tip', pointer.x, pointer.y, tailWords ? 28 : pointer.size * width, name)}
          </g>
        );
      })}
    </svg>
  );
}
