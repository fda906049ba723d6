namespace HilRunner.Core.Recordings.Parquet;

/// <summary>What the key-value metadata of a recording in Parquet hold beside the columns.</summary>
internal static class ParquetMetadata
{
    /// <summary>The text of NAME.yaml.</summary>
    public const string Side = "hilrunner.side";

    /// <summary>The text of NAME.labels.csv.</summary>
    public const string Labels = "hilrunner.labels";

    /// <summary>How the numbers stood in text, column by column: a line <c>ax_g fixed</c> (as many decimals as the scale), <c>trimmed</c> (no zeros behind).</summary>
    public const string Text = "hilrunner.text";

    public const string Fixed = "fixed";
    public const string Trimmed = "trimmed";

    public static IReadOnlyDictionary<string, string> TextForms(IReadOnlyDictionary<string, string> metadata) =>
        metadata.GetValueOrDefault(Text, "").Split('\n', StringSplitOptions.RemoveEmptyEntries)
            .Select(l => l.Split(' ')).Where(p => p.Length == 2).DistinctBy(p => p[0]).ToDictionary(p => p[0], p => p[1], StringComparer.Ordinal);
}
