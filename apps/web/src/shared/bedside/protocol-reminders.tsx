/** What the ward's protocols want of those who own them, in words; for everybody else it draws nothing. */
import type { ReactNode } from 'react';
import { addressOf } from '../../shell/address.ts';
import { useMe, useNow, useProtocols, useThisWard } from '../../shell/hooks.ts';
import { KeyLink } from '../key.tsx';
import { protocolWants } from './protocol-wants.ts';
import styles from './protocol-reminders.module.css';

export function ProtocolReminders(): ReactNode {
  const wants = protocolWants(useProtocols(), useMe(), useThisWard(), useNow());
  if (wants.length === 0) return null;
  return (
    <section className={styles['reminders']} aria-label="Protocols that want you">
      <h2 className="label">Protocols that want you</h2>
      <ul>
        {wants.map((one) => (
          <li key={`${one.id} ${one.version}`}>
            <span data-reminder>{one.words}</span>{' '}
            <KeyLink look="plain" href={addressOf('protocol', one.id, `v${one.version}`)}>
              Open {one.name}
            </KeyLink>
          </li>
        ))}
      </ul>
    </section>
  );
}
