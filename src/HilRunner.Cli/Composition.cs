using System.Reflection;
using HilRunner.Application;
using HilRunner.Cli.Screen;
using HilRunner.Core.Time;

namespace HilRunner.Cli;

/// <summary>The one place where the real clock is chosen, and who is told and asked.</summary>
internal static class Composition
{
    /// <summary>What commands give to their jobs.</summary>
    public static JobContext Context { get; } = JobContext.Of(
        new(TimeProvider.System), new ConsoleOperator(), InformationalVersion, PlayerCommandLine);

    public static HostClock Clock => Context.Clock;

    /// <summary>With the commit it was built from, where it was built in a checkout.</summary>
    private static string InformationalVersion =>
        typeof(Composition).Assembly.GetCustomAttribute<AssemblyInformationalVersionAttribute>()?.InformationalVersion ?? "";

    /// <summary>
    /// How to start this program again as a player: the executable beside this assembly, which is there whoever called it; where
    /// there is none, as in an installed tool, whatever this process was started by.
    /// </summary>
    private static IReadOnlyList<string> PlayerCommandLine
    {
        get
        {
            string assembly = typeof(Composition).Assembly.Location;
            string beside = Path.ChangeExtension(assembly, OperatingSystem.IsWindows() ? ".exe" : null);
            if (File.Exists(beside)) { return [beside, "player"]; }
            string self = Environment.ProcessPath ?? throw new InvalidOperationException("the path of this program is not known");
            return Path.GetFileNameWithoutExtension(self) == "dotnet" ? [self, assembly, "player"] : [self, "player"];
        }
    }
}
