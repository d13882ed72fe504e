/** What a role that reads no patient's record finds here instead of an empty page. */
import type { ReactNode } from 'react';
import { mayView, type Role, type View } from '@ebbline/core/record';
import { Empty } from '../shared/plate.tsx';

/** Entries reach a tablet only for those who may open the board or a patient; the server holds to the same rule. */
export const readsEntries = (role: Role): boolean => mayView(role, 'board') || mayView(role, 'patient');

/** The audit is read from the ward's record when it is asked; every other page is worked out from entries on the tablet. */
export const reachesPages = (role: Role, view: View): boolean =>
  mayView(role, view) && (view === 'audit' || readsEntries(role));

export function RoleHome({ role }: { readonly role: Role }): ReactNode {
  switch (role) {
    case 'privacy-officer':
      return (
        <Empty>
          A privacy officer reads no patient’s record here. <a href="#/who-looked">Who looked</a> answers who
          looked at a patient, and at what a person looked.
        </Empty>
      );
    case 'clinical-engineer':
    case 'analyst':
      return (
        <Empty>
          The unit’s figures are worked out on this tablet from the ward’s entries, which your role does not
          read. Ask the unit manager for the printed figures, or for an export without names.
        </Empty>
      );
    case 'administrator':
      return (
        <Empty>
          An administrator reads no patient’s record here. How the server is stands under{' '}
          <a href="#/operations">Operations</a>, its wires to the hospital’s systems under{' '}
          <a href="#/connections">Connections</a>. People, PINs and settings are kept through the interface
          described at <a href="/openapi.json">/openapi.json</a>.
        </Empty>
      );
    case 'integration':
      return (
        <Empty>
          This is the account of a machine: it works through the interface described at{' '}
          <a href="/openapi.json">/openapi.json</a>, not through pages.
        </Empty>
      );
    default:
      return <Empty>This page is not for your role. Choose another above.</Empty>;
  }
}
