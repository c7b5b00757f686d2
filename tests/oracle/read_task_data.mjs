// What another library, `isoxml` of npm, understands of task data: JSON of its lines and rates.
// usage: node read_task_data.mjs TASKDATA.XML...     (one line of JSON a file)
import { readFileSync } from 'node:fs'
import { createRequire } from 'node:module'

const { ISOXMLManager } = createRequire(new URL('../.node/', import.meta.url))('isoxml')

const positions = line => (line.attributes.Point ?? []).map(point => [point.attributes.PointEast, point.attributes.PointNorth])

for (const file of process.argv.slice(2)) {
  const manager = new ISOXMLManager({ version: 4 })
  await manager.parseISOXMLFile(readFileSync(file, 'utf8'), 'text/xml')
  const root = manager.rootElement.attributes
  const lines = []
  for (const field of root.Partfield ?? []) {
    for (const group of field.attributes.GuidanceGroup ?? [])
      for (const pattern of group.attributes.GuidancePattern ?? [])
        lines.push([pattern.attributes.GuidancePatternDesignator, (pattern.attributes.LineString ?? []).map(positions)])
    for (const line of field.attributes.LineString ?? [])
      lines.push([line.attributes.LineStringDesignator, [positions(line)]])
  }
  const rates = []
  for (const task of root.Task ?? [])
    for (const zone of task.attributes.TreatmentZone ?? [])
      for (const value of zone.attributes.ProcessDataVariable ?? [])
        rates.push([task.attributes.TaskDesignator, String(zone.attributes.TreatmentZoneCode), value.attributes.ProcessDataValue,
          value.attributes.ProductIdRef?.entity?.attributes.ProductDesignator ?? null])
  const field = (root.Partfield ?? []).map(one => [one.attributes.PartfieldDesignator, one.attributes.PartfieldArea])
  console.log(JSON.stringify({ version: root.VersionMajor, warnings: manager.getWarnings().map(String), field, lines, rates }))
}
