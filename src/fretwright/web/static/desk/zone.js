/** The time zone of this device is offered first; whoever travels chooses another. */

for (const field of document.querySelectorAll("select[data-zone]:not([data-chosen])")) {
  if (!(field instanceof HTMLSelectElement)) continue;
  const zone = Intl.DateTimeFormat().resolvedOptions().timeZone;
  if ([...field.options].some((option) => option.value === zone)) field.value = zone;
}
