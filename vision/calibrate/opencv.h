#ifndef ECART_CALIBRATE_OPENCV_H
#define ECART_CALIBRATE_OPENCV_H

#ifdef __cplusplus
extern "C" {
#endif

// Every function returns 0 where OpenCV threw an exception, whose text is then
// in why. Points are pairs x, y; matrices are row by row.
enum { WHY = 256 };

// Finds the inner corners of a board in a grey picture of 8 bits: xy takes
// columns * rows points, *found says whether they are there. sectors chooses
// the slower finder.
int ecart_find(const unsigned char *grey, int width, int height, int columns, int rows,
               int sectors, float *xy, int *found, char *why);

// Makes a picture smaller, each pixel the mean of what it covers.
int ecart_shrink(const unsigned char *grey, int width, int height,
                 unsigned char *small, int w, int h, char *why);

// Moves one corner to the saddle of the grey values within half pixels around it.
int ecart_saddle(const unsigned char *grey, int width, int height, float *xy, int half, char *why);

// Estimates a camera from views of a flat board of n points each: camera is
// 3 x 3, bend k1 k2 p1 p2 k3, each pose a rotation vector and a translation, sd
// the standard deviations of fx fy cx cy k1 k2 p1 p2 k3, rounds how many steps it
// takes at most.
int ecart_camera(int views, int n, const float *board, const float *seen, int width, int height,
                 int flags, int rounds, double *camera, double *bend, double *poses, double *sd, double *rms, char *why);

// Projects n points in the camera's frame, x right, y down, z forwards.
int ecart_project(int n, const double *xyz, const double *camera, const double *bend, double *xy, char *why);

// Takes n pixels to those of the same camera without distortion.
int ecart_straighten(int n, const double *xy, const double *camera, const double *bend, double *out, char *why);

#ifdef __cplusplus
}
#endif
#endif
