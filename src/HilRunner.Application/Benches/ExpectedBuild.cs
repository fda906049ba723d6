using HilRunner.Core.Rigs;
using HilRunner.Core.Runs;

namespace HilRunner.Application.Benches;

/// <summary>What a device must say of itself where its rig asks for that.</summary>
internal static class ExpectedBuild
{
    /// <returns>By group of the identity answer; empty: whatever runs is played.</returns>
    /// <exception cref="UsageException">The rig asks for a build, and none was given.</exception>
    public static IReadOnlyDictionary<string, string> Of(IdentityQuery? identity, BuildIdentity build)
    {
        var expected = new Dictionary<string, string>(StringComparer.Ordinal);
        foreach (var mark in identity?.Same ?? [])
        {
            (string group, string? value, string option) = mark == BuildMark.Version ? ("version", build.Label, "--build LABEL") : ("image", build.Sha256, "--image FILE");
            expected[group] = value ?? throw new UsageException($"this rig plays only a build that it knows (identity.same: {group}): give {option}");
        }
        return expected;
    }
}
