// Package stability finds growing oscillations, limits reached and control left.
package stability
