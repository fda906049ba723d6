using HilRunner.Core;
using HilRunner.Core.Runs;

namespace HilRunner.Cli.Runs;

/// <summary>Finds stored runs.</summary>
internal static class RunFolders
{
    /// <summary>The given folders where they are runs, else the runs directly below them, in order of name.</summary>
    /// <exception cref="BadInputException">A folder is neither.</exception>
    public static IReadOnlyList<string> Under(IReadOnlyList<string> paths)
    {
        var found = new List<string>();
        var faults = new List<Fault>();
        foreach (string path in paths)
        {
            if (File.Exists(Path.Combine(path, RunFiles.Manifest))) { found.Add(path); continue; }
            string[] below = Directory.Exists(path)
                ? [.. Directory.EnumerateDirectories(path).Where(d => File.Exists(Path.Combine(d, RunFiles.Manifest))).Order(StringComparer.Ordinal)]
                : [];
            if (below.Length == 0)
            {
                faults.Add(new(path, 0, 0, Directory.Exists(path) ? $"a folder without a {RunFiles.Manifest}" : "no such folder",
                    "the folder of a run, or of a batch of runs", "hil run prints where it puts them"));
            }
            found.AddRange(below);
        }
        return faults.Count > 0 ? throw new BadInputException(faults) : found;
    }
}
