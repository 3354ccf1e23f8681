// Pieces of a probe that reads a map at a point.

/** arrows is which way an arrow key goes, to the right and up being more. */
export const arrows: Record<string, [number, number]> = { ArrowLeft: [-1, 0], ArrowRight: [1, 0], ArrowUp: [0, 1], ArrowDown: [0, -1] };

/** arrow is where an arrow key leads; with Shift it goes far. */
export const arrow = (ev: KeyboardEvent, far: number): [number, number] | null => {
  const d = arrows[ev.key], s = ev.shiftKey ? far : 1;
  return d ? [s * d[0], s * d[1]] : null;
};

/** Cross marks the point. */
export const Cross = ({ size }: { size: number }) => <><path d={`M${-size} 0H${size}M0 ${-size}V${size}`} class="under" /><path d={`M${-size} 0H${size}M0 ${-size}V${size}`} /></>;
