using System.Runtime.InteropServices;

namespace HilRunner.Application;

/// <summary>The program that owns a rig's port while a run is played. It lies beside this assembly, whoever calls it.</summary>
internal static class PlayerProgram
{
    private const string Assembly = "hil-player.dll";

    /// <summary>Program and first arguments.</summary>
    /// <exception cref="FileNotFoundException">It does not lie there.</exception>
    public static IReadOnlyList<string> CommandLine => [Runtime, "exec", .. Dependencies, Beside];

    /// <summary>
    /// The same files of the same packages as this process: which of them are for this system its own list says, and a player's
    /// own is not published with it.
    /// </summary>
    private static IReadOnlyList<string> Dependencies
    {
        get
        {
            string? own = (AppContext.GetData("APP_CONTEXT_DEPS_FILES") as string)?.Split(';')[0];
            return File.Exists(own) ? ["--depsfile", own] : [];
        }
    }

    private static string Beside
    {
        get
        {
            string path = Path.Combine(Path.GetDirectoryName(typeof(PlayerProgram).Assembly.Location) ?? "", Assembly);
            return File.Exists(path) ? path : throw new FileNotFoundException(
                $"{path} is missing: it is the program that plays, and belongs beside the tool; install the tool anew", path);
        }
    }

    /// <summary>What this process itself runs on; where it brought its own, whatever is found as dotnet.</summary>
    private static string Runtime
    {
        get
        {
            string name = OperatingSystem.IsWindows() ? "dotnet.exe" : "dotnet";
            // …/dotnet/shared/Microsoft.NETCore.App/VERSION/
            string root = Path.GetFullPath(Path.Combine(RuntimeEnvironment.GetRuntimeDirectory(), "..", "..", ".."));
            string own = Path.Combine(root, name);
            return File.Exists(own) ? own : name;
        }
    }
}
