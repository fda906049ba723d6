using System.Globalization;
using HilRunner.Core.Recordings;
using HilRunner.Inspection.Reading;
using HilRunner.Testing;

namespace HilRunner.Inspection.Tests;

/// <summary>The open recordings, each in the form in which it can be read.</summary>
internal static class OpenRecordings
{
    public static readonly string[] Transitions = ["stand_to_sit", "sit_to_stand", "sit_to_lie", "lie_to_sit", "stand_to_lie", "lie_to_stand"];

    private static readonly string[] s_names = ["walking", "upstairs", "downstairs", "sitting", "standing", "lying", .. Transitions];

    public static readonly (int Experiment, int User)[] People = [(1, 1), (3, 2), (5, 3), (7, 4), (9, 5), (11, 6)];

    /// <summary>All of them, with the options that a scenario would give.</summary>
    public static IEnumerable<(string Name, InspectedRecording Recording, InspectionOptions Options)> All()
    {
        var scored = new InspectionOptions { Unscored = Transitions };
        foreach (var (e, u) in People) { yield return ($"activity/acc_exp{e:00}_user{u:00}", Activity(e, u), scored); }
        foreach (var (e, u) in ((int, int)[])[(6, 4), (7, 3), (10, 6)]) { yield return ($"activity-pocket/acc_exp{e:00}_user{u:00}", Pocket(e, u), new()); }
        foreach (int subject in (int[])[1631, 1637]) { yield return ($"activity-daily/data_{subject}_accel_phone", Daily(subject), new()); }
        foreach (int configuration in (int[])[1, 2, 3])
        {
            foreach (int percent in (int[])[20, 60, 100]) { yield return ($"vibration/fan {configuration} at {percent} %", Fan(configuration, percent), new()); }
        }
    }

    public static InspectedRecording Activity(int experiment, int user) => InspectedFile.ReadForeign(
        TestPaths.OpenData($"activity/acc_exp{experiment:00}_user{user:00}.txt"), Format("activity/labels.txt", experiment, user, "g"));

    public static InspectedRecording Pocket(int experiment, int user) => InspectedFile.ReadForeign(
        TestPaths.OpenData($"activity-pocket/acc_exp{experiment:00}_user{user:00}.txt"), Format("activity-pocket/labels.txt", experiment, user, "m/s2"));

    /// <summary>Its lines end in a semicolon and count nanoseconds: brought into the native form first, nothing else changed.</summary>
    public static InspectedRecording Daily(int subject)
    {
        string[] lines = File.ReadAllLines(TestPaths.OpenData($"activity-daily/data_{subject}_accel_phone.txt"));
        var rows = lines.Where(l => l.Length > 0).Select(l =>
        {
            string[] cells = l.TrimEnd(';').Split(',');
            decimal seconds = decimal.Parse(cells[2], CultureInfo.InvariantCulture) / 1_000_000_000m;
            return string.Create(CultureInfo.InvariantCulture, $"{seconds},{cells[3]},{cells[4]},{cells[5]}");
        });
        return Native($"daily-{subject}", ["t_s,ax_mps2,ay_mps2,az_mps2", .. rows], null);
    }

    /// <summary>One configuration of the fan at one speed: a minute, nominally at 50 Hz.</summary>
    public static InspectedRecording Fan(int configuration, int percent)
    {
        string head = string.Create(CultureInfo.InvariantCulture, $"{configuration},{percent},");
        var rows = File.ReadLines(TestPaths.OpenData("vibration/fan.csv")).Where(l => l.StartsWith(head, StringComparison.Ordinal)).Select(l => l[head.Length..]);
        return Native("fan", ["ax_g,ay_g,az_g", .. rows], "rate: 50 Hz\n");
    }

    private static InspectedRecording Native(string name, IEnumerable<string> lines, string? side)
    {
        using var folder = TestPaths.NewFolder();
        File.WriteAllLines(folder.File($"{name}.csv"), lines);
        if (side is not null) { File.WriteAllText(folder.File($"{name}.yaml"), side); }
        return InspectedFile.Read(folder.File($"{name}.csv"));
    }

    private static ForeignFormat Format(string labels, int experiment, int user, string unit) => new()
    {
        Separator = "space", Columns = ["ax", "ay", "az"], Acceleration = unit, Rate = new(50_000),
        Labels = new(TestPaths.OpenData(labels), "space", ["experiment", "user", "class", "first", "last"])
        {
            Where = new Dictionary<string, string> { ["experiment"] = $"{experiment}", ["user"] = $"{user}" },
            Names = s_names.Select((n, i) => (Name: n, Code: i + 1)).ToDictionary(n => $"{n.Code}", n => n.Name),
        },
    };
}
