using HilRunner.Core;
using HilRunner.Core.Files;
using HilRunner.Core.Recordings;
using HilRunner.Core.Recordings.Parquet;
using HilRunner.Core.Time;

namespace HilRunner.Inspection.Reading;

/// <summary>
/// Reads recordings leniently: what is wrong with the samples or the labels is kept for the checks instead of being refused. Refused is
/// only what no check could say anything about: no file, no header, no column of motion, no sample, no rate.
/// </summary>
public static class InspectedFile
{
    /// <summary>NAME.csv with NAME.labels.csv and NAME.yaml; or NAME.parquet, which may hold the other two.</summary>
    /// <exception cref="BadInputException">Nothing can be said about the file; holds every fault.</exception>
    public static InspectedRecording Read(string path)
    {
        return InputFile.Using(path, "a recording", () =>
        {
            var faults = new FaultList(path);
            using var parquet = path.EndsWith(".parquet", StringComparison.OrdinalIgnoreCase) ? ParquetRowReader.Open(path, header: true) : null;
            string? side = parquet?.Metadata.GetValueOrDefault(ParquetMetadata.Side), inside = parquet?.Metadata.GetValueOrDefault(ParquetMetadata.Labels);
            var (info, sideFaults) = side is null ? Side(path) : Side(path, side);
            using var text = parquet is null ? RowReader.Open(path, "comma") : null;
            RowReader row = parquet ?? text!;
            if (!row.MoveNext())
            {
                faults.Add(0, 0, "an empty file", "a header with units such as ax_g,ay_g,az_g and lines of numbers");
                FaultList.ThrowIfAny(faults, sideFaults);
            }
            var columns = NativeHeader.Read(row, faults);
            FaultList.ThrowIfAny(faults, sideFaults);
            var made = Made(path, row, columns, info.Rate, info, faults, out long originNs);
            bool within = side is not null || inside is not null;
            string labelPath = within ? path : Path.ChangeExtension(path, ".labels.csv");
            var labelFaults = new FaultList(labelPath);
            var labels = !within ? InputFile.Using(labelPath, "labels", () => LenientLabels.Read(labelPath, originNs, labelFaults))
                : string.IsNullOrEmpty(inside) ? [] : LenientLabels.Read(labelPath, new StringReader(inside), originNs, labelFaults);
            return made with { Labels = labels, LineFaults = made.LineFaults with { Labels = Faults(labelFaults) } };
        });
    }

    /// <summary>A file of another form.</summary>
    /// <param name="labelFolder">Folder that the path of the labels is relative to; null: the data file's.</param>
    /// <exception cref="BadInputException">Nothing can be said about the file, or the format contradicts itself.</exception>
    public static InspectedRecording ReadForeign(string path, ForeignFormat format, string? labelFolder = null) =>
        InputFile.Using(path, "a recording", () =>
        {
            var faults = new FaultList(path);
            var columns = ForeignColumns.Of(format, faults);
            FaultList.ThrowIfAny(faults);
            var (info, sideFaults) = Side(path);
            FaultList.ThrowIfAny(sideFaults);
            using var row = RowReader.Open(path, format.Separator);
            if (format.Header) { row.MoveNext(); }
            var made = Made(path, row, columns, format.Rate ?? info.Rate, info, faults, out long originNs);
            if (format.Labels is not { } form) { return made; }
            string labelPath = Path.Combine(labelFolder ?? Path.GetDirectoryName(path) ?? "", form.Path);
            var labelFaults = new FaultList(labelPath);
            var labels = InputFile.Using(labelPath, "a file of labels",
                () => ForeignLabelFile.Read(labelPath, form, SampleAxis.Of(made).Rate, originNs, labelFaults));
            return made with
            {
                Labels = [.. labels.Select(l => new InspectedLabel(l.Start.Ns, l.End.Ns, l.Class, 0))],
                // Overlaps stay among the labels, where a check finds them; what is no label is only a fault.
                LineFaults = made.LineFaults with { Labels = [.. Faults(labelFaults).Where(f => f.Expected != "labels that do not overlap")] },
            };
        });

    private static InspectedRecording Made(
        string path, RowReader row, IReadOnlyList<ColumnUse> columns, SampleRate? rate, RecordingInfo info, FaultList faults, out long originNs)
    {
        var table = LenientTable.Read(row, columns, faults);
        FaultList.ThrowIfAny(faults);
        var times = table.TimesNs(out originNs);
        if (rate is null && SampleAxis.MedianStep(times) is null)
        {
            faults.Add(0, 0, "no sample rate", "a stated rate or a time column over two samples or more",
                table.TimeRemedy.Length > 0 ? table.TimeRemedy
                : $"write 'rate: 50 Hz' (or what it is) in {Path.ChangeExtension(path, ".yaml")}, or add a column t_s");
            FaultList.ThrowIfAny(faults);
        }
        return new()
        {
            Name = Path.GetFileNameWithoutExtension(path),
            Path = path,
            ChannelNames = table.ChannelNames,
            Channels = table.Channels(),
            TimesNs = times,
            StatedRate = rate,
            Info = info,
            LineFaults = table.Faults,
        };
    }

    private static (RecordingInfo Info, FaultList Faults) Side(string path)
    {
        string side = Path.ChangeExtension(path, ".yaml");
        var faults = new FaultList(side);
        return (InputFile.Using(side, "a side file", () => SideFile.Read(side, faults)), faults);
    }

    private static (RecordingInfo Info, FaultList Faults) Side(string path, string text)
    {
        var faults = new FaultList(path);
        return (SideFile.Parse(text, faults), faults);
    }

    private static IReadOnlyList<Fault> Faults(FaultList faults)
    {
        try
        {
            faults.ThrowIfAny();
            return [];
        }
        catch (BadInputException found) { return found.Faults; }
    }
}
