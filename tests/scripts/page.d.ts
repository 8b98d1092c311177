// What the page's scripts share with one another and with the page, told to the type checker; nothing of it is run.

interface Window { linkmotion: Page }

/** Elements whose own properties the scripts use, by their id in page.html. */
interface Controlled {
  state: HTMLSelectElement;
  side: HTMLSelectElement;
  "ghost-of": HTMLSelectElement;
  notch: HTMLSelectElement;
  reverser: HTMLInputElement;
  speed: HTMLInputElement;
  factor: HTMLInputElement;
  afresh: HTMLInputElement;
  "tour-back": HTMLButtonElement;
}
type ElementOf<Id extends string> = Id extends keyof Controlled ? Controlled[Id] : HTMLElement;

/** Every element of the page is HTML or SVG, and both carry data. */
interface Element { readonly dataset: DOMStringMap }

type Point = number[];
type End = "front" | "back";
type Flow = "steam" | "exhaust";

interface Layout {
  quantities: string[];
  slot: { top: number; bottom: number } | null;
}

/** A drawing, as views/moving/drawn.py makes it. */
interface Drawn {
  svg: string;
  box: string;
  valve_box: string;
  central: number;
  r: number;
  named: Record<string, string>;
}

/** Events of one end: crank angles in the direction of running, and percent of the stroke; what never comes is absent. */
interface EndEvents {
  end: string;
  dead: number;
  lead: number;
  angle: Record<string, number>;
  percent: Record<string, number>;
}

/** Reverser positions at the ends of a side's scale, and in its middle. */
interface Span { forward: number; mid: number; backward: number }

/** What a case takes from the page's data as it is. */
interface Case {
  state: string;
  sides: string[];
  whose: string;
  admission: string;
  notches: Record<string, number>;
  span: Span | null;
  moves: boolean;
  play: Record<string, number>;
  events: Record<string, Record<string, EndEvents[]>>;
  layout: Layout;
  drawn: Drawn;
}

interface Table { lost?: number[] }

/** Where the crosshead stands on both dead centres, found when first asked. */
interface Blend { limits?: number[] }

/** One item by which a state differs from the drawing. */
interface Difference { name: string; amount: number | null; angle: boolean; table: Table; words?: HTMLElement }

/** What controls.js adds to the page. */
interface PageControls {
  controls(): void;
  printing(): void;
  tell(slider: string, place: string, words: string): void;
  speed(): void;
  factor(): void;
  play(on: boolean): void;
  run(way: number): void;
  toEvent(): void;
  key(e: KeyboardEvent): void;
  faster(by: number): void;
  dragging(): void;
  fillStates(states: string[]): void;
  fillItems(): void;
  weighItems(): void;
  driven(): void;
  fillEvents(): void;
  titles(): void;
}

/** What reverser.js adds. */
interface PageReverser {
  reverse(u: number): void;
  reverserPlace(u?: number): number;
  reverserAt(place: number, kase?: Case): number;
  reverserOn(kase: Case): number;
  showReverser(): void;
  fillNotches(): void;
  showTicks(): void;
}

/** What parts.js adds. */
interface PageParts {
  named: Map<string, { title: string; does: string }>;
  pointing(): void;
  touch(e: PointerEvent): void;
  partAt(x: number, y: number): string | undefined;
  beside(x: number, y: number, finger: boolean): void;
  hush(): void;
  light(parts: string[]): void;
  name(part: string): void;
  fillParts(): void;
}

/** What tour.js adds. */
interface PageTour {
  touring(): void;
  visit(number: number): void;
  leave(): void;
}

/** What told.js adds. */
interface PageTold {
  note(each: Passing, back: boolean): void;
  number(mm: number, more?: number): string;
  length(mm: number, more?: number): string;
  outlineWords(): string;
  inNotch(): string | undefined;
  reverserWords(): string;
  read(v: number, piston: number, working: Record<string, string[]>, values: Float64Array): void;
}

/** An event of this turn, and what the plots show at its angle. */
interface Passing { event: string; end: string; angle: number; percent: number; early: boolean; at: Record<string, number> }

interface Page extends PageControls, PageReverser, PageParts, PageTour, PageTold {
  over?: Over;
  ticked?: Case;
  told?: string;
  lit?: string[];
}
