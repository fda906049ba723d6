using System.Globalization;
using HilRunner.Core.Files;
using HilRunner.Core.Recordings.Parquet;
using HilRunner.Core.Time;

namespace HilRunner.Core.Recordings;

/// <summary>
/// Recordings on disk: the native form (NAME.csv, NAME.labels.csv, NAME.yaml, or all in NAME.parquet; see the README beside this file), and files of
/// other forms that a <see cref="ForeignFormat"/> describes. Numbers with a decimal point, whatever the machine's language.
/// </summary>
public static class RecordingFile
{
    /// <summary>Reads the native form. Labels and side file may be absent.</summary>
    /// <exception cref="BadInputException">All faults of the three files (20 of each at most, the rest as a number).</exception>
    public static Recording Read(string path)
    {
        var faults = new FaultList(path);
        return InputFile.Using(path, "a recording", () =>
        {
            using var parquet = IsParquet(path) ? ParquetRowReader.Open(path, header: true) : null;
            using RowReader row = parquet ?? RowReader.Open(path, "comma");
            var companions = new NativeCompanions(path, parquet?.Metadata);
            if (!row.MoveNext())
            {
                faults.Add(0, 0, "an empty file", "a header with units such as ax_g,ay_g,az_g and lines of numbers");
                ThrowIfAny(faults, companions);
            }
            var columns = NativeHeader.Read(row, faults);
            if (faults.Any) { ThrowIfAny(faults, companions); }
            var table = MotionTable.Read(row, columns, faults);
            string remedy = $"write 'rate: 50 Hz' (or what it is) in {SidePath(path)}, or add a column t_s";
            var rate = faults.Any ? null : SampleTimes.Rate(table, companions.Info.Rate, remedy, faults);
            var labels = companions.Labels(Origin(table));
            ThrowIfAny(faults, companions);
            return Made(path, rate!.Value, table, labels, companions.Info);
        });
    }

    /// <summary>Reads a file of another form. A side file NAME.yaml beside it is read too.</summary>
    /// <param name="labelFolder">Folder that the path of the labels is relative to; null: the data file's.</param>
    /// <exception cref="BadInputException">All faults of the files, and of the format where it contradicts itself.</exception>
    public static Recording ReadForeign(string path, ForeignFormat format, string? labelFolder = null)
    {
        var faults = new FaultList(path);
        return InputFile.Using(path, "a recording", () =>
        {
            var columns = ForeignColumns.Of(format, faults);
            FaultList.ThrowIfAny(faults);
            var (info, sideFaults) = Side(path);
            using var row = RowReader.Open(path, format.Separator);
            if (format.Header) { row.MoveNext(); }
            var table = MotionTable.Read(row, columns, faults);
            const string remedy = "give the format a rate: such as 50 Hz, or name the column of seconds t";
            var rate = faults.Any ? null : SampleTimes.Rate(table, format.Rate ?? info.Rate, remedy, faults);
            FaultList.ThrowIfAny(faults, sideFaults);
            var labels = format.Labels is { } f ? ForeignLabels(path, f, labelFolder, rate!.Value, table) : [];
            return Made(path, rate!.Value, table, labels, format.Source is { } source ? info with { Source = source } : info);
        });
    }

    /// <summary>
    /// Writes the native form with time column, in g and °/s: NAME.csv, NAME.yaml and, where there are labels, NAME.labels.csv
    /// (a label file left from before is removed where there are none). Reading gives back the same recording, bit for bit;
    /// its rate is <see cref="Recording.Rate"/>, whatever the side file said before.
    /// </summary>
    /// <param name="path">NAME.csv, or NAME.parquet for the same in one file; its folder exists.</param>
    /// <exception cref="ArgumentException">
    /// Not a recording: unknown channels, unequal lengths, values that are no finite numbers, labels out of order or overlapping.
    /// </exception>
    /// <exception cref="IOException">Could not be written.</exception>
    public static void Write(string path, Recording recording)
    {
        Check(path, recording);
        if (IsParquet(path))
        {
            ParquetRecording.Write(path, recording);
            return;
        }
        AtomicFile.WriteText(SidePath(path), w => SideFile.Write(w, recording.Info, recording.Rate));
        if (recording.Labels.Count > 0) { AtomicFile.WriteText(LabelPath(path), w => NativeLabels.Write(w, recording.Labels)); }
        else { PlainFile.Delete(LabelPath(path)); }
        AtomicFile.WriteText(path, w => WriteMotion(w, recording));
    }

    private static void WriteMotion(TextWriter writer, Recording recording)
    {
        writer.WriteLine("t_s," + string.Join(',', recording.ChannelNames.Select(c => c + (ColumnUse.IsAcceleration(c) ? "_g" : "_dps"))));
        for (int i = 0; i < recording.SampleCount; i++)
        {
            writer.Write(recording.Rate.TimeOf(i).Seconds.ToString("0.#########", CultureInfo.InvariantCulture));
            foreach (double[] channel in recording.Channels)
            {
                writer.Write(',');
                writer.Write(channel[i].ToString("R", CultureInfo.InvariantCulture));
            }
            writer.WriteLine();
        }
    }

    private static void Check(string path, Recording recording)
    {
        if (!path.EndsWith(".csv", StringComparison.Ordinal) && !IsParquet(path))
        {
            throw new ArgumentException($"{path}: a recording is written to NAME.csv or NAME.parquet", nameof(path));
        }
        var names = recording.ChannelNames;
        bool known = names.Distinct().Count() == names.Count && names.All(ColumnUse.ChannelNames.Contains);
        if (names.Count == 0 || !known || recording.Channels.Count != names.Count)
        {
            string found = string.Join(", ", names), expected = string.Join(", ", ColumnUse.ChannelNames);
            throw new ArgumentException($"channels {found}: each of {expected} at most once, and one at least", nameof(recording));
        }
        if (recording.SampleCount == 0 || recording.Channels.Any(c => c.Length != recording.SampleCount))
        {
            throw new ArgumentException("channels of one length above 0 are needed", nameof(recording));
        }
        if (recording.Channels.Any(c => c.Any(v => !(Math.Abs(v) <= CsvText.LargestValue))))
        {
            throw new ArgumentException("a value is not a finite number", nameof(recording));
        }
        var end = StimulusTime.Zero;
        foreach (var label in recording.Labels)
        {
            if (label.Start < end || label.End <= label.Start || string.IsNullOrWhiteSpace(label.Class))
            {
                throw new ArgumentException(
                    $"label '{label.Class}' from {label.Start} to {label.End}: labels have a class, a length, an order and no overlap",
                    nameof(recording));
            }
            end = label.End;
        }
    }

    private static IReadOnlyList<LabelInterval> ForeignLabels(string path, ForeignLabels format, string? folder, SampleRate rate, MotionTable table)
    {
        string labelPath = Path.Combine(folder ?? Path.GetDirectoryName(path) ?? "", format.Path);
        var faults = new FaultList(labelPath);
        var labels = InputFile.Using(labelPath, "a file of labels", () => ForeignLabelFile.Read(labelPath, format, rate, Origin(table), faults));
        FaultList.ThrowIfAny(faults);
        return labels;
    }

    private static (RecordingInfo Info, FaultList Faults) Side(string path)
    {
        var faults = new FaultList(SidePath(path));
        return (InputFile.Using(SidePath(path), "a side file", () => SideFile.Read(SidePath(path), faults)), faults);
    }

    private static bool IsParquet(string path) => path.EndsWith(".parquet", StringComparison.OrdinalIgnoreCase);

    private static void ThrowIfAny(FaultList faults, NativeCompanions companions) => FaultList.ThrowIfAny([faults, .. companions.Faults]);

    private static long Origin(MotionTable table) => table.TimesNs is { Length: > 0 } times ? times[0] : 0;

    public static string SidePath(string path) => Path.ChangeExtension(path, ".yaml");

    public static string LabelPath(string path) => Path.ChangeExtension(path, ".labels.csv");

    private static Recording Made(string path, SampleRate rate, MotionTable table, IReadOnlyList<LabelInterval> labels, RecordingInfo info) => new()
    {
        Name = Path.GetFileNameWithoutExtension(path),
        Rate = rate,
        ChannelNames = table.ChannelNames,
        Channels = table.Channels,
        Labels = labels,
        Info = info,
    };
}
