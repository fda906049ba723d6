namespace HilRunner.Core.Documents;

/// <summary>Names of classes.</summary>
internal static class ClassNames
{
    /// <summary>The observed class while nothing was decided; no class of a device or of a label may be called so.</summary>
    public const string None = "(none)";

    public static Shape<string> Name { get; } = Shapes.Text("a class name", "resting", "carried").Select((name, node, reading) =>
    {
        if (name == None) { reading.Refuse(node, name, "another class name", "it stands for: nothing decided yet"); }
        if (name.Any(char.IsControl) || name.Trim() != name) { reading.Refuse(node, node.Shown,
            "a class name without control characters and outer blanks"); }
        return name;
    });
}
