/**
 * DICOM ultrasound has no attribute for the turn of a plane. Our own convention states it in Image Comments in exactly
 * these words, and nothing else of the comment is read or kept:
 *
 *     rotational_fan plane angles deg: 0 15 30 …
 *     tilt_sweep plane angles deg: -31 -25.8 …
 *     parallel_sweep plane offsets mm: -39 -32.5 …
 *     two_orthogonal_planes plane angles deg: 0 90
 */
import type { Layout } from '@ebbline/imaging';

export interface StatedLayout {
  readonly layout: Layout;
  readonly positions: readonly number[];
}

const pattern =
  /^\s*(rotational_fan|tilt_sweep|parallel_sweep|two_orthogonal_planes) plane (angles deg|offsets mm):((?: -?\d{1,4}(?:\.\d{1,6})?){2,400})\s*$/;

export function layoutInComment(comment: string): StatedLayout | undefined {
  if (comment.length > 6000) return undefined;
  const match = pattern.exec(comment);
  if (!match) return undefined;
  const layout = match[1] as Layout;
  if ((layout === 'parallel_sweep') !== (match[2] === 'offsets mm')) return undefined;
  return { layout, positions: (match[3] as string).trim().split(' ').map(Number) };
}
