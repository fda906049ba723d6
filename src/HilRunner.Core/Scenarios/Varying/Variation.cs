namespace HilRunner.Core.Scenarios.Varying;

/// <summary>One parameter at one value.</summary>
/// <param name="Value">In the parameter's unit.</param>
public sealed record VariedValue(VariedParameter Parameter, decimal Value)
{
    /// <summary>rotate x 22.5 deg.</summary>
    public override string ToString() => $"{Parameter.Key.Replace('.', ' ')} {Parameter.Write(Value)}";
}

/// <summary>One combination of values at which a scenario is played.</summary>
/// <param name="Of">Name of the scenario that asks for it.</param>
/// <param name="Sampled">The values were drawn; false: a point of a grid.</param>
/// <param name="Values">One for every parameter varied, in the order of <see cref="VariedParameter.All"/>.</param>
public sealed record Variation(string Of, bool Sampled, IReadOnlyList<VariedValue> Values)
{
    /// <summary>The scenario as it is played at these values, under a name that holds them. Every play step is changed, on top of what it says itself.</summary>
    public Scenario Apply(Scenario scenario)
    {
        ArgumentNullException.ThrowIfNull(scenario);
        return scenario with
        {
            Name = $"{Of}, {string.Join(", ", Values)}",
            Steps = [.. scenario.Steps.Select(step => step is PlayStep play ? Values.Aggregate(play, (changed, v) => v.Parameter.Apply(changed, v.Value)) : step)],
            Variations = [],
        };
    }
}
