//! Points and directions in space. Sums, products and square roots only, which every machine rounds alike.

/// x, y, z. Of a model: millimetres, z up, front towards -y. On a drawing: dots to the right, dots down, dots away from the viewer.
pub type Vec3 = [f64; 3];

pub fn add(a: Vec3, b: Vec3) -> Vec3 {
    [a[0] + b[0], a[1] + b[1], a[2] + b[2]]
}

pub fn sub(a: Vec3, b: Vec3) -> Vec3 {
    [a[0] - b[0], a[1] - b[1], a[2] - b[2]]
}

pub fn scale(a: Vec3, by: f64) -> Vec3 {
    [a[0] * by, a[1] * by, a[2] * by]
}

pub fn dot(a: Vec3, b: Vec3) -> f64 {
    a[0] * b[0] + a[1] * b[1] + a[2] * b[2]
}

pub fn cross(a: Vec3, b: Vec3) -> Vec3 {
    [a[1] * b[2] - a[2] * b[1], a[2] * b[0] - a[0] * b[2], a[0] * b[1] - a[1] * b[0]]
}

pub fn length(a: Vec3) -> f64 {
    dot(a, a).sqrt()
}

/// Of length 1; of no length stays so.
pub fn unit(a: Vec3) -> Vec3 {
    let long = length(a);
    if long > 0.0 { scale(a, 1.0 / long) } else { a }
}

/// From `a` to `b`.
pub fn mix(a: Vec3, b: Vec3, t: f64) -> Vec3 {
    [a[0] + (b[0] - a[0]) * t, a[1] + (b[1] - a[1]) * t, a[2] + (b[2] - a[2]) * t]
}

/// The smallest box, sides along the axes, that holds all that was put in.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Extent {
    pub least: Vec3,
    pub most: Vec3,
}

impl Default for Extent {
    fn default() -> Extent {
        Extent { least: [f64::INFINITY; 3], most: [f64::NEG_INFINITY; 3] }
    }
}

impl Extent {
    pub fn hold(&mut self, point: Vec3) {
        self.least = std::array::from_fn(|axis| self.least[axis].min(point[axis]));
        self.most = std::array::from_fn(|axis| self.most[axis].max(point[axis]));
    }

    pub fn join(mut self, other: Extent) -> Extent {
        if !other.is_empty() {
            self.hold(other.least);
            self.hold(other.most);
        }
        self
    }

    pub fn moved(self, by: Vec3) -> Extent {
        Extent { least: add(self.least, by), most: add(self.most, by) }
    }

    pub fn is_empty(&self) -> bool {
        self.least[0] > self.most[0]
    }

    /// Of its diagonal.
    pub fn size(&self) -> f64 {
        if self.is_empty() { 0.0 } else { length(sub(self.most, self.least)) }
    }

    pub fn middle(&self) -> Vec3 {
        mix(self.least, self.most, 0.5)
    }
}
