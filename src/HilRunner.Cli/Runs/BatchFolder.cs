using System.Globalization;

namespace HilRunner.Cli.Runs;

/// <summary>Where the runs of one call go: OUT/TIME-NAME, never one that exists.</summary>
internal static class BatchFolder
{
    public static string Create(string root, DateTimeOffset started, string name)
    {
        string stem = Path.Combine(root, $"{started.UtcDateTime.ToString("yyyyMMdd'T'HHmmss'Z'", CultureInfo.InvariantCulture)}-{Slug.Of(name)}");
        string folder = stem;
        for (int i = 2; Directory.Exists(folder); i++) { folder = $"{stem}-{i}"; }
        Directory.CreateDirectory(folder);
        return folder;
    }
}
