using System.Reflection;
using HilRunner.Application;
using HilRunner.Cli.Screen;
using HilRunner.Core.Time;

namespace HilRunner.Cli;

/// <summary>The one place where the real clock is chosen, and who is told and asked.</summary>
internal static class Composition
{
    /// <summary>What commands give to their jobs.</summary>
    public static JobContext Context { get; } = new(
        new(TimeProvider.System), new ConsoleOperator(), InformationalVersion);

    public static HostClock Clock => Context.Clock;

    /// <summary>With the commit it was built from, where it was built in a checkout.</summary>
    private static string InformationalVersion =>
        typeof(Composition).Assembly.GetCustomAttribute<AssemblyInformationalVersionAttribute>()?.InformationalVersion ?? "";
}
