"""Where photos are measured: processes of this machine, or a Dask cluster."""
