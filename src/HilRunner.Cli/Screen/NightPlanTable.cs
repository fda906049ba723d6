using System.Globalization;
using System.Text.Json;
using HilRunner.Application.Planning;
using HilRunner.Cli.Screen.Terminals;
using HilRunner.Reporting;
using HilRunner.Reporting.Page;

namespace HilRunner.Cli.Screen;

/// <summary>The plan of a night: fits 80 columns.</summary>
internal static class NightPlanTable
{
    private const int MostNames = 3;

    private static readonly JsonSerializerOptions s_json = new() { WriteIndented = true };

    /// <param name="now">When it would start.</param>
    public static void Print(NightPlan plan, DateTimeOffset now)
    {
        var table = new ScreenTable();
        table.AddColumn("rig");
        table.AddColumn("runs", right: true);
        table.AddColumn("takes", right: true);
        table.AddColumn("known from earlier runs");
        foreach (var rig in plan.Rigs)
        {
            table.AddRow(rig.Rig, $"{rig.Runs}", About(rig.Takes, rig.Known == rig.Runs, plan.Speed),
                rig.Runs == 0 ? Figure.Absent : rig.Known == rig.Runs ? "all" : $"{rig.Known} of {rig.Runs}");
        }
        Console.Out.WriteLine($"plan: {plan.Name}, at speed {plan.Speed}");
        Terminal.Write(table);
        if (plan.Known < plan.Runs)
        {
            Console.Out.WriteLine(
                $"What was not played before is taken as long as its motion{(plan.Speed == Core.Runs.Speeds.Max ? " in real time: at speed max it may take less" : "")}.");
        }
        foreach (var reason in plan.RealTime.GroupBy(s => s.Why)) { Console.Out.WriteLine($"Not faster than real time: {Names([.. reason.Select(s => s.Scenario)])}: {reason.Key}."); }
        Console.Out.WriteLine(plan.Room.Sentence);
        Console.Out.WriteLine(Line(plan, now));
    }

    /// <summary>"12 runs on 2 rigs, about 1 min 20 s: done at about 02:13".</summary>
    public static string Line(NightPlan plan, DateTimeOffset now)
    {
        string rigs = plan.Rigs.Count == 1 ? $"rig {plan.Rigs[0].Rig}" : $"{plan.Rigs.Count} rigs";
        string runs = plan.Runs == 1 ? "1 run" : $"{plan.Runs} runs";
        DateTimeOffset end = (now + plan.Takes).ToLocalTime();
        string day = end.Date == now.ToLocalTime().Date ? "" : end.ToString("yyyy-MM-dd ", CultureInfo.InvariantCulture);
        return $"{runs} on {rigs}, {About(plan.Takes, plan.Known == plan.Runs, plan.Speed)}: done by about {day}{end.ToString("HH:mm", CultureInfo.InvariantCulture)}";
    }

    public static void PrintJson(NightPlan plan, DateTimeOffset now) => Terminal.Documents.WriteLine(JsonSerializer.Serialize(
        new
        {
            schema = 1,
            name = plan.Name,
            speed = plan.Speed,
            runs = plan.Runs,
            known = plan.Known,
            takes_s = Math.Round(plan.Takes.TotalSeconds, 1),
            done_by = now + plan.Takes,
            rigs = plan.Rigs.Select(r => new { rig = r.Rig, runs = r.Runs, known = r.Known, takes_s = Math.Round(r.Takes.TotalSeconds, 1) }),
            real_time_only = plan.RealTime.Select(s => new { scenario = s.Scenario, why = s.Why }),
            disk = new { free_bytes = plan.Room.FreeBytes, needed_bytes = plan.Room.NeededBytes },
        },
        s_json));

    private static string About(TimeSpan time, bool known, string speed) =>
        (known ? "about " : speed == Core.Runs.Speeds.Max ? "at most about " : "about ") + Dates.Span(time);

    private static string Names(List<string> names) => names.Count <= MostNames ? string.Join(", ", names) : $"{string.Join(", ", names.Take(MostNames))} and {names.Count - MostNames} more";
}
