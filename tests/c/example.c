#include <stdio.h>
#include "oddheat.h"

ODDHEAT_MEM(block, 8, 4, 0); /* 8 columns, 4 regions, no checks: static, aligned, sized by the header */
static const uint16_t frame[3][8] = {{2931, 2931, 2931, 2931, 2931, 2931, 2931, 2931}, /* a sensor's tenths of a kelvin */
                                     {2931, 2931, 3431, 3531, 2931, 2931, 2931, 2931},
                                     {2931, 2931, 2931, 2931, 2931, 2931, 2931, 2731}};

int main(void) {
  oddheat_config config;
  oddheat *device;
  oddheat_region regions[4];
  oddheat_summary found;
  if (oddheat_config_init(&config, 8, 3)) return 1;
  config.regions_max = 4;
  config.scale = ODDHEAT_SCALE_LINEAR;
  config.linear_counts_per_kelvin = 10.0;
  config.linear_zero_celsius = -273.15;
  if (oddheat_init(block, sizeof block, &config, &device)) return 1; /* nothing to free, nothing global */
  if (oddheat_set_thresholds(device, 313150, 283150)) return 1;      /* hot above 40, cold below 10 degrees Celsius */
  for (int y = 0; y < 3; y++) {
    if (oddheat_push_row(device, frame[y], 8)) return 1;
  }
  if (oddheat_regions(device, regions, 4, &found)) return 1;
  for (uint32_t i = 0; i < found.regions_written; i++) { /* strongest first */
    printf("%s, %u px, peak %d mK at (%u, %u)\n", regions[i].sign == ODDHEAT_SIGN_HOT ? "hot" : "cold",
           (unsigned)regions[i].area_px, (int)regions[i].peak_mk, regions[i].peak_x_px, regions[i].peak_y_px);
  }
  return 0;
}
