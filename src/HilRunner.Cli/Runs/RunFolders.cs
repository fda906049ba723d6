using System.Globalization;
using HilRunner.Core;
using HilRunner.Core.Runs;

namespace HilRunner.Cli.Runs;

/// <summary>Finds stored runs.</summary>
internal static class RunFolders
{
    /// <summary>The number that a run's folder begins with, counted in the order in which they were begun; 0: it has none.</summary>
    public static int NumberOf(string folder) => int.TryParse(Path.GetFileName(folder).Split('-')[0], NumberStyles.None, CultureInfo.InvariantCulture, out int n) ? n : 0;

    /// <summary>The runs directly below a folder, in the order in which they were begun.</summary>
    public static IReadOnlyList<string> In(string folder) => Directory.Exists(folder)
        ? [.. Directory.EnumerateDirectories(folder).Where(d => File.Exists(Path.Combine(d, RunFiles.Manifest))).OrderBy(NumberOf).ThenBy(d => d, StringComparer.Ordinal)]
        : [];

    /// <summary>The given folders where they are runs, else the runs directly below them, in the order in which they were begun.</summary>
    /// <exception cref="BadInputException">A folder is neither.</exception>
    public static IReadOnlyList<string> Under(IReadOnlyList<string> paths)
    {
        var found = new List<string>();
        var faults = new List<Fault>();
        foreach (string path in paths)
        {
            if (File.Exists(Path.Combine(path, RunFiles.Manifest))) { found.Add(path); continue; }
            var below = In(path);
            if (below.Count == 0)
            {
                faults.Add(new(path, 0, 0, Directory.Exists(path) ? $"a folder without a {RunFiles.Manifest}" : "no such folder",
                    "the folder of a run, or of a batch of runs", "hil run prints where it puts them"));
            }
            found.AddRange(below);
        }
        return faults.Count > 0 ? throw new BadInputException(faults) : found;
    }
}
