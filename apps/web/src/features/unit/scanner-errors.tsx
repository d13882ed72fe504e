/** What the pairs of reading and drained volume have taught of each scanner, one sentence each, with the pairs behind it. */
import { useCallback, useMemo, type ReactNode } from 'react';
import { deviceBook, entriesByPatient, type DeviceError } from '@ebbline/core/facts';
import { deviceSentence, scannerName, whyDevice } from '@ebbline/core/present';
import { Why } from '../../shared/bedside/why.tsx';
import { Plate } from '../../shared/plate.tsx';
import { useDirectory, useEntries, useNow, useThisWard } from '../../shell/hooks.ts';
import styles from './unit.module.css';

function OneScanner({ device }: { readonly device: DeviceError }): ReactNode {
  const ward = useThisWard();
  const directory = useDirectory();
  const nowMs = useNow();
  const explain = useCallback(
    () => whyDevice(device, nowMs, ward.zone, directory),
    [device, directory, nowMs, ward.zone],
  );
  return (
    <div className={styles['scanner']} data-scanner={device.scanner} data-reads={device.reads}>
      <p className="speak">{deviceSentence(device, ward.settings.unitLimitMl, directory)}</p>
      <Why of={`What is known of ${scannerName(device.scanner, directory)}`} explain={explain} />
    </div>
  );
}

export function ScannerErrors(): ReactNode {
  const directory = useDirectory();
  const entries = useEntries();
  const devices = useMemo(
    () => deviceBook().of(entriesByPatient(entries), directory.wards),
    [directory.wards, entries],
  );
  if (devices.size === 0) return null;
  const ordered = [...devices.values()].toSorted((a, b) =>
    scannerName(a.scanner, directory) < scannerName(b.scanner, directory) ? -1 : 1,
  );
  return (
    <Plate title="Each scanner against what was drained" note="from drained patients only, since the first">
      {ordered.map((device) => (
        <OneScanner key={device.scanner} device={device} />
      ))}
    </Plate>
  );
}
