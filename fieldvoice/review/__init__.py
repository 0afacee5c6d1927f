"""What a job left behind, from its events alone: report, curves and exports."""
