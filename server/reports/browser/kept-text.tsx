import type { InputHTMLAttributes } from 'preact';
import { useState } from 'preact/hooks';

type Props = Omit<InputHTMLAttributes<HTMLInputElement>, 'value' | 'onInput' | 'onChange' | 'type'> & {
  text: string;
  /** Called when the field is left, or Enter pressed, with what was typed. */
  onText(text: string): void;
};

/** A text field whose typing survives whatever else changes on the page meanwhile, such as a change being sent. */
export function KeptText({ text, onText, ...rest }: Props) {
  const [typed, setTyped] = useState<string>();
  return (
    <input
      {...rest}
      type="text"
      value={typed ?? text}
      onInput={(event) => setTyped(event.currentTarget.value)}
      onChange={(event) => {
        setTyped(undefined);
        onText(event.currentTarget.value);
      }}
    />
  );
}
