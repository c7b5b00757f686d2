//! Shapefiles made by hand, from the published description (ESRI Shapefile Technical
//! Description, 1998), so that neither our writer nor our reader judges itself.

/// A `.shp` that grows record by record.
#[derive(Clone)]
pub struct Shp {
    shape_type: i32,
    records: Vec<u8>,
    count: i32,
}

impl Shp {
    pub fn new(shape_type: i32) -> Self {
        Self {
            shape_type,
            records: Vec::new(),
            count: 0,
        }
    }

    /// A record of parts: a line or a polygon, as the file's type says.
    pub fn line(mut self, parts: &[&[(f64, f64)]]) -> Self {
        let mut content = self.shape_type.to_le_bytes().to_vec();
        content.extend([0; 32]);
        let points: Vec<&(f64, f64)> = parts.iter().flat_map(|part| part.iter()).collect();
        content.extend((parts.len() as i32).to_le_bytes());
        content.extend((points.len() as i32).to_le_bytes());
        let mut start = 0;
        for part in parts {
            content.extend((start as i32).to_le_bytes());
            start += part.len();
        }
        for (x, y) in points {
            content.extend(x.to_le_bytes());
            content.extend(y.to_le_bytes());
        }
        self.record(&content);
        self
    }

    pub fn point(mut self, (x, y): (f64, f64)) -> Self {
        let mut content = self.shape_type.to_le_bytes().to_vec();
        content.extend(x.to_le_bytes());
        content.extend(y.to_le_bytes());
        self.record(&content);
        self
    }

    /// A record without a shape.
    pub fn nothing(mut self) -> Self {
        self.record(&0_i32.to_le_bytes());
        self
    }

    fn record(&mut self, content: &[u8]) {
        self.count += 1;
        self.records.extend(self.count.to_be_bytes());
        self.records
            .extend((content.len() as i32 / 2).to_be_bytes());
        self.records.extend(content);
    }

    pub fn bytes(&self) -> Vec<u8> {
        let mut bytes = 9994_i32.to_be_bytes().to_vec();
        bytes.extend([0; 20]);
        bytes.extend(((100 + self.records.len()) as i32 / 2).to_be_bytes());
        bytes.extend(1000_i32.to_le_bytes());
        bytes.extend(self.shape_type.to_le_bytes());
        bytes.extend([0; 64]);
        bytes.extend(&self.records);
        bytes
    }
}

/// A `.dbf` of one column of text, five bytes wide or as wide as the longest (dBASE III).
pub fn table(column: &str, cells: &[&str]) -> Vec<u8> {
    let width = cells
        .iter()
        .map(|cell| cell.len())
        .max()
        .unwrap_or(0)
        .max(5);
    let mut bytes = vec![3, 126, 6, 2];
    bytes.extend((cells.len() as u32).to_le_bytes());
    bytes.extend(65_u16.to_le_bytes());
    bytes.extend((width as u16 + 1).to_le_bytes());
    bytes.extend([0; 20]);
    let mut name = column.as_bytes().to_vec();
    name.resize(11, 0);
    bytes.extend(name);
    bytes.extend([b'C', 0, 0, 0, 0, width as u8, 0]);
    bytes.extend([0; 14]);
    bytes.push(0x0d);
    for cell in cells {
        bytes.push(b' ');
        let mut cell = cell.as_bytes().to_vec();
        cell.resize(width, b' ');
        bytes.extend(cell);
    }
    bytes.push(0x1a);
    bytes
}
