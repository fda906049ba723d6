using HilRunner.Core.Files;

namespace HilRunner.Core.Recordings;

/// <summary>The columns that a foreign format names, with their units.</summary>
internal static class ForeignColumns
{
    /// <returns>One entry per column; faults are in <paramref name="faults"/>.</returns>
    public static List<ColumnUse> Of(ForeignFormat format, FaultList faults)
    {
        Known(format.Separator, RowReader.Separators, "separator", faults);
        Known(format.Acceleration, ColumnUse.AccelerationUnits, "acceleration", faults);
        Known(format.Gyro, ColumnUse.GyroUnits, "gyro", faults);
        var uses = new List<ColumnUse>();
        foreach (string column in format.Columns)
        {
            bool channel = ColumnUse.ChannelNames.Contains(column);
            if (!channel && column is not ("t" or "_"))
            {
                faults.Add(0, 0, $"format: column {FoundText.Show(column)}", $"one of {string.Join(", ", ColumnUse.ChannelNames)}, t, or _ to skip it");
            }
            else if (column != "_" && format.Columns.Count(c => c == column) > 1)
            {
                faults.Add(0, 0, $"format: column {column} more than once", "each quantity once");
            }
            else
            {
                string unit = channel && ColumnUse.IsAcceleration(column) ? format.Acceleration : format.Gyro;
                bool known = ColumnUse.AccelerationUnits.Contains(unit) || ColumnUse.GyroUnits.Contains(unit);
                uses.Add(channel && known ? ColumnUse.Of(column, unit) : column == "t" ? ColumnUse.Time : ColumnUse.Skipped);
            }
        }
        if (!faults.Any && uses.All(u => u.Channel is null)) { faults.Add(0, 0, "format: no column of motion", "ax and the like among the columns"); }
        return uses;
    }

    private static void Known(string word, IReadOnlyList<string> known, string key, FaultList faults)
    {
        if (!known.Contains(word)) { faults.Add(0, 0, $"format: {key} {FoundText.Show(word)}", "one of " + string.Join(", ", known)); }
    }
}
