/**
 * The life of a protocol as acts that are added, never edited: sent for signing, published, retired. Its state is a
 * fold over them. The server keeps the acts; tablets get the versions, so that a step is advised without the network.
 */
import { instantMs } from '@ebbline/core/quantity';
import type { Signature, WatchSetting } from '@ebbline/core/record';
import type { CompiledProtocol } from '../compile-protocol.ts';
import { starterFor, starterProtocols } from '../starters.ts';

interface ActOn {
  readonly id: string;
  readonly version: number;
  readonly by: Signature;
}
export type ProtocolAct = ActOn &
  (
    | {
        readonly act: 'sent';
        readonly ward: string;
        /** The whole model as DMN XML, as it was proved. */
        readonly dmn: string;
        /** SHA-256 of `dmn`, hex. */
        readonly contentDigest: string;
      }
    | {
        readonly act: 'published';
        readonly contentDigest: string;
        /** Calendar day of the ward, `YYYY-MM-DD`, through which it needs no new look. */
        readonly reviewBy: string;
      }
    | {
        readonly act: 'retired';
        readonly reason: string;
        /** The version that took its place. */
        readonly replacedBy?: number;
      }
  );

/** `proved`: waits for a signature. `retired`: also one that was taken back before it was signed. */
export type VersionState = 'proved' | 'published' | 'retired';

export interface ProtocolVersion {
  readonly ward: string;
  readonly state: VersionState;
  /** Its `approval` says who signed, once somebody has. */
  readonly protocol: CompiledProtocol;
  readonly contentDigest: string;
  readonly sent: Signature;
  readonly published?: Signature & { readonly reviewBy: string };
  readonly retired?: Signature & { readonly reason: string; readonly replacedBy?: number };
}

const same = (a: { id: string; version: number }, b: { id: string; version: number }): boolean =>
  a.id === b.id && a.version === b.version;

/**
 * Versions in the order in which they were sent. An act on a version that was never sent, or that has been done
 * already, says nothing: what is published stays as it was published.
 *
 * @param compiled what each content holds, by its digest; a version whose content is missing is left out
 */
export function foldVersions(
  acts: readonly ProtocolAct[],
  compiled: ReadonlyMap<string, CompiledProtocol>,
): readonly ProtocolVersion[] {
  const found: ProtocolVersion[] = [];
  for (const act of acts) {
    const at = found.findIndex((one) => same(one.protocol, act));
    const held = found[at];
    if (act.act === 'sent') {
      const protocol = compiled.get(act.contentDigest);
      if (held || !protocol) continue;
      found.push({
        ward: act.ward,
        state: 'proved',
        protocol: { ...protocol, id: act.id, version: act.version, approval: 'example-not-approved' },
        contentDigest: act.contentDigest,
        sent: act.by,
      });
    } else if (act.act === 'published') {
      if (held?.state !== 'proved' || held.contentDigest !== act.contentDigest) continue;
      const { name, role, at: on } = act.by;
      found[at] = {
        ...held,
        state: 'published',
        protocol: { ...held.protocol, approval: { signedBy: name, role, on, reviewBy: act.reviewBy } },
        published: { ...act.by, reviewBy: act.reviewBy },
      };
    } else if (held && held.state !== 'retired') {
      found[at] = {
        ...held,
        state: 'retired',
        retired: {
          ...act.by,
          reason: act.reason,
          ...(act.replacedBy === undefined ? {} : { replacedBy: act.replacedBy }),
        },
      };
    }
  }
  return found;
}

/** The ward's own version for a setting: published, not retired, the one signed last; undefined for none. */
export function inForce(
  versions: readonly ProtocolVersion[],
  ward: string,
  setting: WatchSetting,
): ProtocolVersion | undefined {
  return versions
    .filter(
      (one) => one.state === 'published' && one.ward === ward && one.protocol.settings.includes(setting),
    )
    .toSorted((a, b) => signedMs(a) - signedMs(b))
    .at(-1);
}

const signedMs = ({ published }: ProtocolVersion): number =>
  published ? instantMs(published.at) : Number.NEGATIVE_INFINITY;

/** A version by name, wherever it stands: also a retired one, for those who are watched under it. */
export function versionOf(
  versions: readonly ProtocolVersion[],
  wanted: { readonly id: string; readonly version: number },
): ProtocolVersion | undefined {
  return versions.find((one) => one.published !== undefined && same(one.protocol, wanted));
}

/** What a new watch goes by: the ward's own version, else the example that ships for the setting. */
export function protocolNow(
  versions: readonly ProtocolVersion[],
  ward: string,
  setting: WatchSetting,
): CompiledProtocol | undefined {
  return inForce(versions, ward, setting)?.protocol ?? starterFor(setting);
}

/** The tables of a version that a watch keeps, if they are here: published once, or an example of this release. */
export function protocolKept(
  versions: readonly ProtocolVersion[],
  kept: { readonly id: string; readonly version: number },
): CompiledProtocol | undefined {
  return versionOf(versions, kept)?.protocol ?? starterProtocols.find((one) => same(one, kept));
}

/**
 * What a watch goes by: the version that it keeps, else what a new watch would. One that it keeps and whose tables are
 * not here gives what a new watch would, and `adviseFrom` says that it is another version.
 */
export function protocolFor(
  watch: {
    readonly setting?: WatchSetting;
    readonly protocol?: { readonly id: string; readonly version: number };
  },
  ward: string,
  versions: readonly ProtocolVersion[],
): CompiledProtocol | undefined {
  const kept = watch.protocol && protocolKept(versions, watch.protocol);
  if (kept) return kept;
  return watch.setting === undefined ? undefined : protocolNow(versions, ward, watch.setting);
}

/** The number of the next version under an id: above every one that was ever sent, and above the example's. */
export function nextVersion(versions: readonly ProtocolVersion[], id: string): number {
  const used = [...versions.map(({ protocol }) => protocol), ...starterProtocols]
    .filter((one) => one.id === id)
    .map((one) => one.version);
  return Math.max(0, ...used) + 1;
}
