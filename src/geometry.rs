//! Places, sizes and rectangles on a flat ground, whatever they are measured in: dots, sixteenths of a dot, pixels, thousandths.
//!
//! Sums, products and square roots only, which every machine rounds alike.

use std::ops::{Add, AddAssign, Mul, Sub};

/// A place, or the way from one place to another. x runs right, y runs down.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Point<T> {
    pub x: T,
    pub y: T,
}

impl<T> Point<T> {
    pub const fn new(x: T, y: T) -> Point<T> {
        Point { x, y }
    }

    /// The same done to both coordinates.
    pub fn map<U>(self, mut change: impl FnMut(T) -> U) -> Point<U> {
        Point { x: change(self.x), y: change(self.y) }
    }

    /// As it is written outside: `[x, y]`.
    pub fn to_array(self) -> [T; 2] {
        [self.x, self.y]
    }
}

impl<T> From<[T; 2]> for Point<T> {
    fn from([x, y]: [T; 2]) -> Point<T> {
        Point { x, y }
    }
}

impl<T: Add<Output = T>> Add for Point<T> {
    type Output = Point<T>;
    fn add(self, other: Point<T>) -> Point<T> {
        Point { x: self.x + other.x, y: self.y + other.y }
    }
}

impl<T: Sub<Output = T>> Sub for Point<T> {
    type Output = Point<T>;
    fn sub(self, other: Point<T>) -> Point<T> {
        Point { x: self.x - other.x, y: self.y - other.y }
    }
}

impl<T: AddAssign> AddAssign for Point<T> {
    fn add_assign(&mut self, other: Point<T>) {
        self.x += other.x;
        self.y += other.y;
    }
}

impl<T: Copy + Mul<Output = T>> Mul<T> for Point<T> {
    type Output = Point<T>;
    fn mul(self, factor: T) -> Point<T> {
        Point { x: self.x * factor, y: self.y * factor }
    }
}

impl<T: Copy + Add<Output = T> + Sub<Output = T> + Mul<Output = T>> Point<T> {
    /// How far two ways run in the same direction, times the length of both.
    pub fn dot(self, other: Point<T>) -> T {
        self.x * other.x + self.y * other.y
    }

    /// Twice the area between two ways; positive when `other` is turned to the right, as seen on paper.
    pub fn cross(self, other: Point<T>) -> T {
        self.x * other.y - self.y * other.x
    }
}

impl Point<i32> {
    /// Room for products.
    pub fn wide(self) -> Point<i64> {
        self.map(i64::from)
    }

    pub fn float(self) -> Point<f64> {
        self.map(f64::from)
    }
}

impl Point<i64> {
    /// Rounded down.
    pub fn length(self) -> i64 {
        self.dot(self).isqrt()
    }
}

impl Point<f64> {
    pub fn length(self) -> f64 {
        self.dot(self).sqrt()
    }

    pub fn distance(self, other: Point<f64>) -> f64 {
        (self - other).length()
    }

    /// The place so far on the straight way to another: 0 is here, 1 is there.
    pub fn towards(self, other: Point<f64>, part: f64) -> Point<f64> {
        Point { x: self.x + (other.x - self.x) * part, y: self.y + (other.y - self.y) * part }
    }
}

/// How wide and how high something is.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Size<T> {
    pub width: T,
    pub height: T,
}

impl<T> Size<T> {
    pub const fn new(width: T, height: T) -> Size<T> {
        Size { width, height }
    }

    /// The same done to both sides.
    pub fn map<U>(self, mut change: impl FnMut(T) -> U) -> Size<U> {
        Size { width: change(self.width), height: change(self.height) }
    }
}

impl<T> From<[T; 2]> for Size<T> {
    fn from([width, height]: [T; 2]) -> Size<T> {
        Size { width, height }
    }
}

/// A rectangle: its top left corner, and how large it is.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Rect<T> {
    pub x: T,
    pub y: T,
    pub width: T,
    pub height: T,
}

impl<T> Rect<T> {
    pub const fn new(x: T, y: T, width: T, height: T) -> Rect<T> {
        Rect { x, y, width, height }
    }

    /// The same done to all four.
    pub fn map<U>(self, mut change: impl FnMut(T) -> U) -> Rect<U> {
        Rect { x: change(self.x), y: change(self.y), width: change(self.width), height: change(self.height) }
    }

    /// As it is written outside: `[left, top, width, height]`.
    pub fn to_array(self) -> [T; 4] {
        [self.x, self.y, self.width, self.height]
    }
}

impl<T> From<[T; 4]> for Rect<T> {
    fn from([x, y, width, height]: [T; 4]) -> Rect<T> {
        Rect { x, y, width, height }
    }
}

/// Something said of each side of a rectangle.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash)]
pub struct Sides<T> {
    pub left: T,
    pub top: T,
    pub right: T,
    pub bottom: T,
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn ways_turn_and_measure_as_on_paper() {
        let (right, down) = (Point::new(3, 0), Point::new(0, 4));
        assert_eq!((right.dot(down), right.cross(down), down.cross(right)), (0, 12, -12), "down lies to the right of right");
        assert_eq!((right + down).wide().length(), 5);
        assert_eq!((right - down).wide().length(), 5);
        assert_eq!(right.float().distance(down.float()), 5.0);
        assert_eq!(right.float().towards(down.float(), 0.5), Point::new(1.5, 2.0));
    }
}
