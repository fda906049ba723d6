using System.Globalization;
using System.Text;
using HilRunner.Core.Documents;
using HilRunner.Core.Files;
using HilRunner.Core.Time;

namespace HilRunner.Core.Recordings;

/// <summary>NAME.yaml beside a recording, or the same text inside a Parquet file.</summary>
internal static class SideFile
{
    private const int LargestBytes = 1_000_000;

    public static RecordingInfo Read(string path, FaultList faults) =>
        File.Exists(path) ? Parse(DocumentReader.ReadText(path, LargestBytes), faults) : new();

    /// <summary>An empty text says nothing, which is no fault; after a fault nothing is said either.</summary>
    public static RecordingInfo Parse(string text, FaultList faults)
    {
        if (text.Length > LargestBytes)
        {
            faults.Add(0, 0, $"a side file of {text.Length} characters",
                $"at most {LargestBytes}, a few lines about the recording");
            return new();
        }
        var own = new DocumentFaults(faults.File);
        RecordingInfo? info = null;
        if (YamlTree.Read(text, own, mayBeEmpty: true) is { } root
            && SideShape.Shape.TryRead(root, new(own, "", Stored: false), out var read))
        {
            info = read;
        }
        own.MoveTo(faults);
        return info ?? new();
    }

    public static void Write(TextWriter writer, RecordingInfo info, SampleRate rate)
    {
        writer.WriteLine(FormattableString.Invariant($"rate: {rate.MilliHertz / 1000m:0.###} Hz"));
        if (info.RangeG is { } range) { writer.WriteLine(FormattableString.Invariant($"range: {range:R} g")); }
        Text(writer, "source", info.Source);
        Text(writer, "mounting", info.Mounting);
        Text(writer, "provenance", info.Provenance);
        Text(writer, "licence", info.Licence);
        if (info.Invented) { writer.WriteLine("invented: true"); }
    }

    /// <summary>Double-quoted, which holds any text on one line (YAML 1.2, 7.3.1).</summary>
    private static void Text(TextWriter writer, string key, string? value)
    {
        if (string.IsNullOrEmpty(value)) { return; }
        var quoted = new StringBuilder();
        foreach (var rune in value.EnumerateRunes())
        {
            if (rune.Value is '"' or '\\') { quoted.Append('\\').Append((char)rune.Value); }
            else if (Rune.IsControl(rune) || rune.Value is 0x2028 or 0x2029 or 0xFEFF)
            {
                quoted.Append(CultureInfo.InvariantCulture, $"\\u{rune.Value:X4}");
            }
            else { quoted.Append(rune.ToString()); }
        }
        writer.WriteLine($"{key}: \"{quoted}\"");
    }
}
