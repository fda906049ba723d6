// Makes the firmware's table from a model file: the same classifier for device and host.
//
//     dotnet run rigs/emulated/MakeTable.cs -- MODEL.yaml OUT.h             writes the table
//     dotnet run rigs/emulated/MakeTable.cs -- --check MODEL.yaml OUT.h     exits 1 when the table is not that of the model
//
// Needs nothing but the .NET SDK. The model is read by the code that the tool and the virtual device use.

#:project ../../src/HilRunner.Core/HilRunner.Core.csproj
#:property PublishAot=false

using System.Globalization;
using System.Text;
using HilRunner.Core;
using HilRunner.Core.Models;

bool check = args is ["--check", ..];
if (args[(check ? 1 : 0)..] is not [string modelPath, string tablePath])
{
    Console.Error.WriteLine("usage: MakeTable.cs [--check] MODEL.yaml OUT.h");
    return 64;
}
string table;
try
{
    table = Table(MotionModel.Read(modelPath), Path.GetFileName(tablePath));
}
catch (BadInputException e)
{
    Console.Error.WriteLine(e.Message);
    return 65;
}
if (!check)
{
    File.WriteAllText(tablePath, table);
    return 0;
}
if (File.Exists(tablePath) && File.ReadAllText(tablePath) == table) { return 0; }
Console.Error.WriteLine($"{tablePath} is not the table of {modelPath}; make it anew: dotnet run rigs/emulated/MakeTable.cs -- {modelPath} {tablePath}");
return 1;

static string Table(MotionModel model, string name)
{
    List<string> channels = [.. model.Channels.Select(c => c.Name)];
    int lastQuestion = model.Tree.Select((node, i) => node.IsLeaf ? 0 : i).Max();
    StringBuilder text = new();
    void Line(FormattableString line) => text.Append(FormattableString.Invariant(line)).Append('\n');
    Line($"// {name}: the classifier '{model.Name}', made from its model file by rigs/emulated/MakeTable.cs; do not edit.");
    Line($"#define MODEL_NAME \"{string.Join('-', model.Name.Split((char[]?)null, StringSplitOptions.RemoveEmptyEntries))}\"");
    Line($"#define MODEL_RATE_MILLIHERTZ {model.Rate.MilliHertz}");
    Line($"#define MODEL_WINDOW {model.Window}");
    Line($"#define MODEL_HOP {model.Hop}");
    Line($"#define MODEL_CHANNELS {channels.Count}");
    foreach (string channel in (string[])["ax", "ay", "az", "gx", "gy", "gz"])
    {
        Line($"#define MODEL_{channel.ToUpperInvariant()} {Parenthesised(channels.IndexOf(channel))}");
    }
    Line($"#define MODEL_CLASSES {model.Classes.Count}");
    Line($"#define MODEL_RULES {model.Events.Count}");
    Line($"#define MODEL_LAST_QUESTION {lastQuestion}");
    Line($"");
    // Several files include the table for its names and sizes; only some use the arrays.
    Line($"#define TABLE static const __attribute__((unused))");
    Line($"");
    Line($"TABLE char *const model_class_names[MODEL_CLASSES] = {{{string.Join(", ", model.Classes.Select(c => $"\"{c}\""))}}};");
    Line($"");
    Line($"#ifdef MODEL_H");
    Line($"TABLE uint16_t model_confirm[MODEL_CLASSES] = {{{string.Join(", ", model.Confirm)}}};");
    Line($"");
    Line($"TABLE struct model_node model_tree[{model.Tree.Count}] = {{");
    for (int i = 0; i < model.Tree.Count; i++)
    {
        TreeNode node = model.Tree[i];
        if (node.IsLeaf)
        {
            Line($"    [{i}] = {{.class = {node.Class}, .per_mille = {PerMille(node.Confidence)}}},  // {model.Classes[node.Class]}");
            continue;
        }
        string series = node.Feature.Series == Feature.MainAxis ? "SERIES_MAIN" : node.Feature.Series.ToString(CultureInfo.InvariantCulture);
        Line($"    [{i}] = {{.class = -1, .statistic = STATISTIC_{node.Feature.Statistic.ToString().ToUpperInvariant()}, .series = {series}, .below = {node.Below}, .hysteresis = {node.Hysteresis}, .then = {node.Then}, .otherwise = {node.Else}}},");
    }
    Line($"}};");
    if (model.Events.Count != 0)
    {
        Line($"");
        Line($"TABLE struct model_rule model_rules[MODEL_RULES] = {{");
        foreach (EventRule rule in model.Events)
        {
            Line($"    {{.below = {rule.Below}, .low = {rule.For}, .above = {rule.Above}, .within = {rule.Within}, .quiet = {rule.Quiet}, .class = {rule.Class}, .per_mille = {PerMille(rule.Confidence)}}},  // {model.Classes[rule.Class]}");
        }
        Line($"}};");
    }
    Line($"#endif");
    Line($"");
    Line($"#undef TABLE");
    return text.ToString();
}

// As the virtual device rounds it, so that both say the same.
static int PerMille(double confidence) => (int)Math.Round(confidence * 1000);

static string Parenthesised(int index) => index < 0 ? "(-1)" : index.ToString(CultureInfo.InvariantCulture);
