using System.Globalization;

namespace HilRunner.Core.Recordings.Parquet;

/// <summary>Writes a recording that is in memory as NAME.parquet: doubles for the channels, the labels and the side file inside.</summary>
internal static class ParquetRecording
{
    public static void Write(string path, Recording recording)
    {
        (string, NumberForm)[] columns =
        [
            ("t_s", NumberForm.Seconds),
            .. recording.ChannelNames.Select(c => (c + (ColumnUse.IsAcceleration(c) ? "_g" : "_dps"), NumberForm.Double)),
        ];
        using var table = new ParquetTable(path, columns);
        Span<char> time = stackalloc char[40];
        for (int i = 0; i < recording.SampleCount; i++)
        {
            recording.Rate.TimeOf(i).Seconds.TryFormat(time, out int length, "0.#########", CultureInfo.InvariantCulture);
            table.Cell(0, time[..length], 0);
            for (int c = 0; c < recording.Channels.Count; c++) { table.Cell(c + 1, [], recording.Channels[c][i]); }
            table.EndRow();
        }
        table.Complete(Metadata(recording.Info, recording.Rate, recording.Labels, 0));
    }

    /// <summary>What the metadata hold of a recording.</summary>
    /// <param name="originNs">The first sample's entry in t_s.</param>
    public static Dictionary<string, string> Metadata(RecordingInfo info, Time.SampleRate rate, IReadOnlyList<LabelInterval> labels, long originNs)
    {
        using StringWriter side = new(CultureInfo.InvariantCulture) { NewLine = "\n" }, intervals = new(CultureInfo.InvariantCulture) { NewLine = "\n" };
        SideFile.Write(side, info, rate);
        var metadata = new Dictionary<string, string> { [ParquetMetadata.Side] = side.ToString() };
        if (labels.Count == 0) { return metadata; }
        NativeLabels.Write(intervals, labels, originNs);
        metadata[ParquetMetadata.Labels] = intervals.ToString();
        return metadata;
    }
}
