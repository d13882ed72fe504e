/**
 * The elements of a DICOM data set, found in the bytes without copying them.
 *
 * Sequences of stated length are opened only when asked for, so that what nobody reads costs nothing. Whatever runs over
 * its end, nests too deep or has no value representation makes the whole set unreadable: `undefined`, never half a set.
 *
 * In        bytes of one data set, its byte order, whether value representations are written
 * Domain    at most 16 levels of sequences of unstated length
 * Source    DICOM PS3.5 chapter 7 and annex A (S-dicom-ps3.5)
 */
export interface Coding {
  readonly explicit: boolean;
  readonly littleEndian: boolean;
}

export interface Extent {
  readonly offset: number;
  readonly length: number;
}

export interface Element extends Extent {
  /** Two capitals, or empty where the coding does not write them. */
  readonly vr: string;
  /** Items of a sequence of unstated length, already walked. */
  readonly items?: readonly DataSet[];
  /** Pieces of a packed picture; the first is the offset table. */
  readonly fragments?: readonly Extent[];
}

export interface DataSet {
  readonly bytes: Uint8Array;
  readonly view: DataView;
  readonly coding: Coding;
  readonly elements: ReadonlyMap<number, Element>;
  /** First byte after the set. */
  readonly end: number;
}

const pixelData = 0x7fe0_0010;
const itemTag = 0xfffe_e000;
const itemEnd = 0xfffe_e00d;
const sequenceEnd = 0xfffe_e0dd;
const unstated = 0xffff_ffff;
const deepest = 16;
const shortForms = new Set('AE AS AT CS DA DS DT FL FD IS LO LT PN SH SL SS ST TM UI UL US'.split(' '));
const implicit: Coding = { explicit: false, littleEndian: true };

interface Walk {
  readonly bytes: Uint8Array;
  readonly view: DataView;
}

/** Elements from `start` up to `end`, or up to the end of the first item or picture; undefined when damaged. */
export function readDataSet(
  bytes: Uint8Array,
  start: number,
  end: number,
  coding: Coding,
  only: (tag: number) => boolean = () => true,
): DataSet | undefined {
  const view = new DataView(bytes.buffer, bytes.byteOffset, bytes.byteLength);
  return walkSet({ bytes, view }, start, end, coding, 0, false, only);
}

function walkSet(
  walk: Walk,
  start: number,
  end: number,
  coding: Coding,
  depth: number,
  inUnstatedItem: boolean,
  only: (tag: number) => boolean = () => true,
): DataSet | undefined {
  const { bytes, view } = walk;
  const elements = new Map<number, Element>();
  const whole = (at: number): DataSet => ({ bytes, view, coding, elements, end: at });
  let at = start;
  while (at < end) {
    // What follows the wanted tags may be in another coding: it is looked at no further.
    if (at + 4 <= end && !only(tagAt(view, at, coding))) return whole(at);
    const head = readHead(walk, at, end, coding);
    if (!head) return undefined;
    if (head.tag === itemEnd) return inUnstatedItem ? whole(head.offset) : undefined;
    const element = readElement(walk, head, end, coding, depth);
    if (!element) return undefined;
    elements.set(head.tag, element.element);
    at = element.next;
    // Nothing that we read stands behind the picture; padding there is often none of the standard's.
    if (head.tag === pixelData && depth === 0) return whole(at);
  }
  return inUnstatedItem ? undefined : whole(at);
}

interface Head extends Extent {
  readonly tag: number;
  readonly vr: string;
}

const tagAt = (view: DataView, at: number, { littleEndian }: Coding): number =>
  view.getUint16(at, littleEndian) * 0x1_0000 + view.getUint16(at + 2, littleEndian);

function readHead({ bytes, view }: Walk, at: number, end: number, coding: Coding): Head | undefined {
  if (at + 8 > end) return undefined;
  const { littleEndian } = coding;
  const tag = tagAt(view, at, coding);
  // Marks of items and their ends never carry a value representation.
  if (!coding.explicit || tag >= itemTag)
    return { tag, vr: '', offset: at + 8, length: view.getUint32(at + 4, littleEndian) };
  const first = bytes[at + 4] as number;
  const second = bytes[at + 5] as number;
  const capital = (one: number): boolean => one >= 0x41 && one <= 0x5a;
  if (!capital(first) || !capital(second)) return undefined;
  const vr = String.fromCharCode(first, second);
  if (shortForms.has(vr)) return { tag, vr, offset: at + 8, length: view.getUint16(at + 6, littleEndian) };
  return at + 12 > end
    ? undefined
    : { tag, vr, offset: at + 12, length: view.getUint32(at + 8, littleEndian) };
}

function readElement(
  walk: Walk,
  head: Head,
  end: number,
  coding: Coding,
  depth: number,
): { element: Element; next: number } | undefined {
  const { vr, offset, length } = head;
  if (length !== unstated) {
    return offset + length > end ? undefined : { element: { vr, offset, length }, next: offset + length };
  }
  if (head.tag === pixelData) return readFragments(walk, head, end, coding);
  // An unknown value of unstated length is a sequence written without value representations.
  if (vr !== '' && vr !== 'SQ' && vr !== 'UN') return undefined;
  const inner = vr === 'UN' ? implicit : coding;
  const items = walkItems(walk, offset, end, inner, depth + 1);
  return items
    ? { element: { vr, offset, length: items.end - offset, items: items.items }, next: items.end }
    : undefined;
}

function walkItems(
  walk: Walk,
  start: number,
  end: number,
  coding: Coding,
  depth: number,
  stated = false,
): { items: DataSet[]; end: number } | undefined {
  if (depth > deepest) return undefined;
  const items: DataSet[] = [];
  let at = start;
  while (at < end) {
    const head = readHead(walk, at, end, coding);
    if (!head) return undefined;
    if (head.tag === sequenceEnd) return { items, end: head.offset };
    if (head.tag !== itemTag) return undefined;
    const open = head.length === unstated;
    const stop = open ? end : head.offset + head.length;
    if (stop > end) return undefined;
    const item = walkSet(walk, head.offset, stop, coding, depth, open);
    if (!item) return undefined;
    items.push(item);
    at = open ? item.end : stop;
  }
  return stated ? { items, end: at } : undefined;
}

function readFragments(
  walk: Walk,
  head: Head,
  end: number,
  coding: Coding,
): { element: Element; next: number } | undefined {
  const fragments: Extent[] = [];
  let at = head.offset;
  while (at < end) {
    const piece = readHead(walk, at, end, coding);
    if (!piece) return undefined;
    if (piece.tag === sequenceEnd) {
      return {
        element: { vr: head.vr, offset: head.offset, length: at - head.offset, fragments },
        next: piece.offset,
      };
    }
    if (piece.tag !== itemTag || piece.offset + piece.length > end) return undefined;
    fragments.push({ offset: piece.offset, length: piece.length });
    at = piece.offset + piece.length;
  }
  return undefined;
}

/** Items of a sequence; undefined when it is not there or can not be read. */
export function itemsOf(set: DataSet, tag: number): readonly DataSet[] | undefined {
  const element = set.elements.get(tag);
  if (!element) return undefined;
  if (element.items) return element.items;
  const { offset, length } = element;
  const inner = element.vr === 'UN' ? implicit : set.coding;
  return walkItems(set, offset, offset + length, inner, 1, true)?.items;
}

const at = (set: DataSet, tag: number, size: number, index: number): number | undefined => {
  const element = set.elements.get(tag);
  return element && (index + 1) * size <= element.length ? element.offset + index * size : undefined;
};

export function uint16(set: DataSet, tag: number, index = 0): number | undefined {
  const from = at(set, tag, 2, index);
  return from === undefined ? undefined : set.view.getUint16(from, set.coding.littleEndian);
}

export function uint32(set: DataSet, tag: number, index = 0): number | undefined {
  const from = at(set, tag, 4, index);
  return from === undefined ? undefined : set.view.getUint32(from, set.coding.littleEndian);
}

export function int32(set: DataSet, tag: number): number | undefined {
  const from = at(set, tag, 4, 0);
  return from === undefined ? undefined : set.view.getInt32(from, set.coding.littleEndian);
}

export function float64(set: DataSet, tag: number): number | undefined {
  const from = at(set, tag, 8, 0);
  return from === undefined ? undefined : set.view.getFloat64(from, set.coding.littleEndian);
}

/** Text byte by byte, without its padding; for code strings, identifiers and our own words only. */
export function plainText(set: DataSet, tag: number): string | undefined {
  const element = set.elements.get(tag);
  if (!element || element.length > 65_536) return undefined;
  let text = '';
  for (let index = 0; index < element.length; index += 1)
    text += String.fromCharCode(set.bytes[element.offset + index] as number);
  return text.replace(/[\s\0]+$/, '').replace(/^\s+/, '');
}

/** One of the numbers of a decimal or integer string. */
export function decimal(set: DataSet, tag: number, index = 0): number | undefined {
  const part = plainText(set, tag)?.split('\\')[index]?.trim();
  return part !== undefined && /^[+-]?(?:\d+\.?\d*|\.\d+)(?:[eE][+-]?\d+)?$/.test(part)
    ? Number(part)
    : undefined;
}
