/** The ward's own versions: where each stands, who signed, until when, and what it changed. */
import type { ReactNode } from 'react';
import { inForce, starterProtocols } from '@ebbline/protocol';
import { settings, type WatchSetting } from '@ebbline/core/record';
import { labels } from '@ebbline/core/present';
import { KeyLink } from '../../shared/key.tsx';
import { Plate } from '../../shared/plate.tsx';
import { addressOf } from '../../shell/address.ts';
import { useNow, useProtocols, useThisWard } from '../../shell/hooks.ts';
import { versionWords } from './protocol-words.ts';
import styles from './protocol.module.css';

export const versionAddress = (id: string, version: number): string =>
  addressOf('protocol', id, `v${version}`);

/** What a new watch on this ward goes by, setting by setting. */
export function InForce(): ReactNode {
  const ward = useThisWard();
  const versions = useProtocols();
  const nowMs = useNow();
  const row = (setting: WatchSetting): ReactNode => {
    const own = inForce(versions, ward.id, setting);
    const shown = own?.protocol ?? starterProtocols.find((one) => one.settings.includes(setting));
    if (!shown) return null;
    return (
      <li key={setting} data-setting={setting}>
        <KeyLink href={own ? versionAddress(shown.id, shown.version) : addressOf('protocol', shown.id)}>
          {labels.settings[setting]}
        </KeyLink>
        <span className="label">
          {own
            ? `${shown.title}, version ${shown.version}. ${versionWords(own, nowMs, ward.zone)}`
            : `${shown.title}, version ${shown.version}. Example, not approved.`}
        </span>
      </li>
    );
  };
  return (
    <Plate first title="Protocols" note={`What a new watch on ${ward.name} goes by`}>
      <ul className={`${styles['list']} ${styles['pairs']}`}>{settings.map(row)}</ul>
    </Plate>
  );
}

/** Every version of this ward, the newest first. */
export function Versions(): ReactNode {
  const ward = useThisWard();
  const nowMs = useNow();
  const versions = useProtocols()
    .filter((one) => one.ward === ward.id)
    .toReversed();
  return (
    <Plate title="Versions" note="Those that wait, those in force, and those of before">
      {versions.length === 0 ? (
        <p className="speak">
          {ward.name} has no version of its own yet. Make a draft of an example, prove it and send it for
          signing.
        </p>
      ) : (
        <ul className={`${styles['list']} ${styles['pairs']}`} data-versions>
          {versions.map((one) => (
            <li key={`${one.protocol.id} ${one.protocol.version}`} data-version={one.state}>
              <KeyLink href={versionAddress(one.protocol.id, one.protocol.version)}>
                {one.protocol.title}, version {one.protocol.version}
              </KeyLink>
              <span className="label">{versionWords(one, nowMs, ward.zone)}</span>
            </li>
          ))}
        </ul>
      )}
    </Plate>
  );
}
