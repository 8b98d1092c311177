// What the bench's scripts take from its pages and its server, told to the type checker; nothing of it is run.

/** Every element of the page is HTML or SVG, and both carry data. */
interface Element { readonly dataset: DOMStringMap }

/** What something happens to on these pages is an element of theirs. */
interface EventTarget {
  id: any;
  value: any;
  checked: any;
  scrollLeft: any;
  scrollTop: any;
  matches: any;
  closest(what: string): any;
  setAttribute(name: string, value: string): void;
}

/** What the server tells of something that was sent: done, or why not. */
interface Told {
  ok: boolean;
  said?: string; // why it was refused
  field?: string; // at which field
  elsewhere?: boolean; // because it was changed elsewhere
  words?: string; // what was done
  version?: number;
  undo?: boolean;
  redo?: boolean;
  to?: string; // where it goes on
  whole?: boolean; // a file filled in is an engine now
  wanted?: number; // figures still to be filled in
  status?: string; // HTML that takes the place of the screen's own line
  follows?: string; // HTML of what follows from an entry
  figure?: { own: string; drawn: string; stands: string; whence: string; of_side: boolean; worked: string };
  part?: { name: string; changed: number };
  [more: string]: any; // what a screen of its own tells besides
}
