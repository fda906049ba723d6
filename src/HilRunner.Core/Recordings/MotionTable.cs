using HilRunner.Core.Files;

namespace HilRunner.Core.Recordings;

/// <summary>The numbers of a recording's data file: channels in g and °/s, and times where the file has them.</summary>
/// <param name="FirstLine">Line of the first sample; sample i stands on line FirstLine + i.</param>
/// <param name="TimesNs">Null: the file has no time column.</param>
internal sealed record MotionTable(IReadOnlyList<string> ChannelNames, IReadOnlyList<double[]> Channels, long[]? TimesNs, int FirstLine)
{
    /// <summary>Most samples of one recording: 17 hours at 800 Hz.</summary>
    public const int MostSamples = 50_000_000;

    public int SampleCount => Channels[0].Length;

    /// <summary>Reads the rows from the one after the current on. Check <paramref name="faults"/> before using the result.</summary>
    public static MotionTable Read(RowReader row, IReadOnlyList<ColumnUse> columns, FaultList faults)
    {
        var channels = columns.Where(c => c.Channel is not null).ToList();
        var values = channels.ConvertAll(_ => SeriesBuilder<double>.AllInMemory());
        var times = columns.Any(c => c.IsTime) ? SeriesBuilder<long>.AllInMemory() : null;
        int firstLine = 0, blankLine = 0, samples = 0;
        while (row.MoveNext())
        {
            if (row.IsBlank)
            {
                blankLine = blankLine == 0 ? row.Line : blankLine;
                continue;
            }
            if (blankLine != 0)
            {
                faults.Add(blankLine, 0, "an empty line between samples", "one sample on every line",
                    "take the line out or put the missing sample there");
                blankLine = 0;
            }
            if (firstLine == 0) { firstLine = row.Line; }
            if (++samples > MostSamples)
            {
                faults.Add(row.Line, 0, $"more than {MostSamples} samples", "a recording that fits in memory", "split the file");
                break;
            }
            ReadRow(row, columns, values, times, faults);
        }
        if (samples == 0) { faults.Add(0, 0, "no sample", "one line of numbers per sample"); }
        return new([.. channels.Select(c => c.Channel!)], values.ConvertAll(v => v.ToArray()), times?.ToArray(), firstLine);
    }

    private static void ReadRow(RowReader row, IReadOnlyList<ColumnUse> columns,
        List<SeriesBuilder<double>> values, SeriesBuilder<long>? times, FaultList faults)
    {
        if (row.Count != columns.Count)
        {
            faults.Add(row.Line, 0, $"{row.Count} columns", $"{columns.Count}");
            return;
        }
        int channel = 0;
        for (int i = 0; i < columns.Count; i++)
        {
            var use = columns[i];
            if (use.IsTime) { ReadTime(row, i, times!, faults); }
            if (use.Channel is null) { continue; }
            if (!CsvText.TryNumber(row[i], out double number))
            {
                faults.Add(row.Line, row.Column(i), $"{FoundText.Show(row[i])} as {use.Channel}", "a finite number such as -0.98");
            }
            values[channel++].Add(use.ToUnit(number));
        }
    }

    private static void ReadTime(RowReader row, int cell, SeriesBuilder<long> times, FaultList faults)
    {
        if (!CsvText.TrySeconds(row[cell], out decimal seconds))
        {
            faults.Add(row.Line, row.Column(cell), $"{FoundText.Show(row[cell])} as time",
                "seconds such as 12.34", CsvText.SecondsRemedy(row[cell]));
        }
        times.Add(Time.StimulusTime.FromSeconds(seconds).Ns);
    }
}
