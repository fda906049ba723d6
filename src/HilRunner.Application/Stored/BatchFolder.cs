using System.Globalization;
using HilRunner.Core.Files;
using HilRunner.Core.Runs;

namespace HilRunner.Application.Stored;

/// <summary>Where the runs of one call go: OUT/TIME-NAME, never one that exists.</summary>
internal static class BatchFolder
{
    /// <summary>What the rigs' steps printed.</summary>
    public const string Prepared = "prepare.log";

    public static string Create(string root, DateTimeOffset started, string name)
    {
        string stem = Path.Combine(root, $"{started.UtcDateTime.ToString("yyyyMMdd'T'HHmmss'Z'", CultureInfo.InvariantCulture)}-{Slug.Of(name)}");
        for (int i = 1; ; i++)
        {
            string folder = i == 1 ? stem : $"{stem}-{i}";
            PlainFile.CreateFolder(folder);
            if (Claim(folder)) { return folder; }
        }
    }

    /// <summary>The folder belongs to the one call that makes its report: two calls in one second keep apart.</summary>
    private static bool Claim(string folder)
    {
        string report = Path.Combine(folder, RunFiles.Report);
        try
        {
            using var claim = PlainFile.Create(report);
            return true;
        }
        catch (IOException) when (File.Exists(report)) { return false; }
    }
}
